"""Testers and gauges of testing companies, as a program records and approves them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from registry.changes import Hand
from registry.domain.identity import firm_key, serial_key
from registry.models import (
    Approval,
    Calibration,
    Certification,
    Firm,
    Gauge,
    Program,
    Tester,
)
from scheduling.actions.by_hand.rows import RefusedChangeError, keep_once


def _firm(name: str) -> Firm:
    firm, _ = Firm.objects.get_or_create(key=firm_key(name), defaults={"name": name})
    return firm


def _approve(*, program: Program, firm: Firm, valid_from: date, **what: Any) -> None:
    Approval.objects.get_or_create(
        program=program, firm=firm, tester=None, gauge=None, defaults={"valid_from": valid_from}
    )
    Approval.objects.get_or_create(
        program=program,
        firm=firm,
        tester=what.get("tester"),
        gauge=what.get("gauge"),
        defaults={"valid_from": valid_from},
    )


@transaction.atomic
def keep_tester(
    *,
    program: Program,
    tester: Tester | None,
    firm_name: str,
    values: Mapping[str, Any],
    term: tuple[date, date],
    issued_by: str,
    hand: Hand,
) -> Tester:
    """Write a tester with one term of the certificate, approved from its first day.

    Raises RefusedChangeError where the company has a tester of that certificate already, or the
    term ends before it begins.
    """
    valid_from, valid_to = term
    if valid_to < valid_from:
        raise RefusedChangeError(
            field="valid_to", message="The certificate ends before it begins. Mend one of the days."
        )
    firm = tester.firm if tester else _firm(firm_name)
    taken = RefusedChangeError(
        field="certificate", message="This testing company has a tester of that certificate."
    )
    row = keep_once(
        tester or Tester(firm=firm),
        values=values,
        hand=hand,
        program=program,
        refusal=taken,
        firm=firm,
    )
    Certification.objects.get_or_create(
        tester=row,
        program=program,
        valid_from=valid_from,
        valid_to=valid_to,
        defaults={"issued_by": issued_by},
    )
    _approve(program=program, firm=firm, valid_from=valid_from, tester=row)
    return row


@transaction.atomic
def keep_gauge(
    *,
    program: Program,
    gauge: Gauge | None,
    firm_name: str,
    serial: str,
    calibrated_on: date,
    hand: Hand,
) -> Gauge:
    """Write a gauge with one calibration; every calibration is kept."""
    firm = gauge.firm if gauge else _firm(firm_name)
    taken = RefusedChangeError(
        field="serial", message="This testing company has a gauge of that serial already."
    )
    row = keep_once(
        gauge or Gauge(firm=firm),
        values={"serial": serial, "serial_key": serial_key(serial)},
        hand=hand,
        program=program,
        refusal=taken,
        firm=firm,
    )
    Calibration.objects.get_or_create(gauge=row, program=program, calibrated_on=calibrated_on)
    _approve(program=program, firm=firm, valid_from=calibrated_on, gauge=row)
    return row
