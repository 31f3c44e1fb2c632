"""Reports that came in and brought nothing, as the floor of letters asks for them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date
from typing import Final
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, QuerySet

from notices.domain.in_hand import ReportInHand, ReportLacks
from notices.queries.reports_in_hand import Readers
from registry.models import Program
from reports.domain.verdicts import Outcome
from reports.models import FieldTest

_AT_ONCE: Final = 900

_WORDS: Final = (
    ("No certificate number", ReportLacks.NUMBERS),
    ("No gauge serial", ReportLacks.NUMBERS),
    ("The certificate", ReportLacks.TESTER),
    ("No term of the certificate", ReportLacks.TESTER),
    ("Tester ", ReportLacks.TESTER),
    ("The testing company", ReportLacks.TESTER),
    ("Gauge ", ReportLacks.GAUGE),
    ("No calibration", ReportLacks.GAUGE),
)
"""How the reasons of a report begin, and what a letter says of each."""


def newest_in_hand(assembly_ids: Collection[int]) -> Mapping[int, ReportInHand]:
    """Return of each assembly its newest report, where that one brought nothing."""
    found: dict[int, ReportInHand] = {}
    ids = sorted(set(assembly_ids))
    for start in range(0, len(ids), _AT_ONCE):
        rows = _brought_nothing().filter(assembly__in=ids[start : start + _AT_ONCE])
        for one in _plain(rows.order_by("tested_on", "pk")):
            found[one.assembly_id] = one
    return found


def assemblies_waiting(program: Program) -> Sequence[int]:
    """Return the assemblies of a program of which such a report waits for a person."""
    rows = _brought_nothing().filter(program=program, waits_for_person=True)
    return [pk for pk in rows.order_by().values_list("assembly_id", flat=True) if pk is not None]


def not_counted_since(program: Program, day: date) -> Sequence[ReportInHand]:
    """Return the reports of a program tested since a day that do not count and wait for nobody."""
    rows = _brought_nothing().filter(program=program, waits_for_person=False, tested_on__gte=day)
    return _plain(rows.order_by("tested_on", "pk"))


def lacks_of(reasons: Iterable[str]) -> tuple[ReportLacks, ...]:
    """Return what a letter says of the reasons kept with a report, each once.

    Example: a certificate that covers another type is no certificate for this one: classes.
    """
    return tuple(dict.fromkeys(_lack(reason) for reason in reasons)) or (ReportLacks.OTHER,)


READERS: Final = Readers(
    newest=newest_in_hand, waiting=assemblies_waiting, not_counted=not_counted_since
)


def _lack(reason: str) -> ReportLacks:
    if reason.startswith("The certificate") and " covers " in reason:
        return ReportLacks.CLASSES
    return next((lack for start, lack in _WORDS if reason.startswith(start)), ReportLacks.OTHER)


def _brought_nothing() -> QuerySet[FieldTest]:
    """Reports of a known assembly without a fact, and with none after them that brought one."""
    later = FieldTest.objects.filter(
        assembly=OuterRef("assembly"), tested_on__gte=OuterRef("tested_on"), counts=True
    )
    return FieldTest.objects.filter(
        ~Exists(later),
        assembly__isnull=False,
        counts=False,
        fact__isnull=True,
        hindrance="",
        mended_by__isnull=True,
    )


def _plain(rows: QuerySet[FieldTest]) -> list[ReportInHand]:
    values = rows.values_list(
        "pk", "assembly_id", "tested_on", "recorded_at", "waits_for_person", "outcome",
        "reasons", "tester__firm_id", "program__zone",
    )  # fmt: skip
    return [
        ReportInHand(
            ref=str(pk),
            assembly_id=assembly_id,
            tested_on=tested_on,
            received_on=recorded_at.astimezone(ZoneInfo(zone)).date(),
            waits=waits,
            passed=outcome == Outcome.PASS,
            lacks=() if waits else lacks_of(reasons),
            firm_id=firm_id,
        )
        for pk, assembly_id, tested_on, recorded_at, waits, outcome, reasons, firm_id, zone
        in values
        if assembly_id is not None
    ]  # fmt: skip
