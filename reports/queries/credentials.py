"""A program's own record of testers and gauges, as the weighing of a report needs it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import timedelta

from registry.domain.identity import serial_key
from registry.models import Approval, Calibration, Certification, Program
from reports.domain.admissibility import CredentialRecord, KnownGauge, KnownTester, Term


def credential_record(*, program: Program, months: int, citation: str) -> CredentialRecord:
    """The testers and gauges a program has accepted, with every term and calibration it recorded.

    What a testing company recorded for itself is no record of the program's. Four queries.
    """
    approvals = list(
        Approval.objects.filter(program=program).select_related("tester", "gauge").order_by("id")
    )
    firm_terms: dict[int, list[Term]] = defaultdict(list)
    for approval in approvals:
        if approval.tester_id is None and approval.gauge_id is None:
            firm_terms[approval.firm_id].append(_term(approval))
    return CredentialRecord(
        testers=_testers(program, approvals=approvals, firm_terms=firm_terms),
        gauges=_gauges(program, approvals=approvals),
        calibration_months=months,
        calibration_citation=citation,
    )


def _testers(
    program: Program, *, approvals: Iterable[Approval], firm_terms: dict[int, list[Term]]
) -> dict[str, list[KnownTester]]:
    certified: dict[int, list[Term]] = defaultdict(list)
    numbers: dict[int, dict[str, str]] = defaultdict(dict)
    for row in Certification.objects.filter(program=program).order_by("valid_from", "id"):
        certified[row.tester_id].append(term_of(row))
        if row.number:
            numbers[row.tester_id].setdefault(serial_key(row.number), row.number)
    found: dict[str, list[KnownTester]] = defaultdict(list)
    for approval in approvals:
        tester = approval.tester
        if tester is None:
            continue
        known = {serial_key(tester.certificate): tester.certificate, **numbers[tester.pk]}
        for key, number in known.items():
            found[key].append(
                KnownTester(
                    tester_id=tester.pk,
                    firm_id=tester.firm_id,
                    certificate=number,
                    name=tester.name,
                    terms=tuple(certified[tester.pk]),
                    accepted=(_term(approval),),
                    firm_accepted=tuple(firm_terms[tester.firm_id]),
                )
            )
    return dict(found)


def _gauges(program: Program, *, approvals: Iterable[Approval]) -> dict[str, list[KnownGauge]]:
    calibrated: dict[int, list[Calibration]] = defaultdict(list)
    rows = Calibration.objects.filter(program=program, struck_at__isnull=True)
    for row in rows.defer("certificate").order_by("calibrated_on", "id"):
        calibrated[row.gauge_id].append(row)
    found: dict[str, list[KnownGauge]] = defaultdict(list)
    for approval in approvals:
        gauge = approval.gauge
        if gauge is None:
            continue
        found[gauge.serial_key].append(
            KnownGauge(
                gauge_id=gauge.pk,
                firm_id=gauge.firm_id,
                serial=gauge.serial,
                calibrated_on=tuple(row.calibrated_on for row in calibrated[gauge.pk]),
                accepted=(_term(approval),),
            )
        )
    return dict(found)


def term_of(row: Certification) -> Term:
    """The days on which a term of a certificate holds; one that ended early ends the day before."""
    last = row.valid_to
    if row.ended_on is not None:
        last = min(last, row.ended_on - timedelta(days=1))
    return Term(first=row.valid_from, last=last, classes=row.classes)


def _term(approval: Approval) -> Term:
    return Term(first=approval.valid_from, last=approval.valid_to)
