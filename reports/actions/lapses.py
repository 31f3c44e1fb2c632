"""A lapse found later: the tests done in it are marked for a person, who decides one by one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from django.db.models import QuerySet

from registry.changes import Hand, record_change
from registry.models import Calibration, Gauge, Program, Tester
from reports.domain.lapses import gauge_doubt, is_off
from reports.models import FieldTest
from reports.queries.kept_reports import UnreadableReportError, kept_report
from reports.queries.serials import assembly_on_record
from reports.queries.weighing import Weighing


def mark_tests_of(
    *,
    program: Program,
    tester: Tester | None = None,
    gauge: Gauge | None = None,
    as_of: date,
    hand: Hand,
) -> int:
    """Weigh counting tests of a tester or a gauge against today's record; mark the doubtful.

    Nothing else moves: a marked test counts until a person decides. A mark whose cause is gone
    is taken off. Gives how many are marked now. Call it inside a transaction.
    """
    tests = FieldTest.objects.select_for_update().filter(program=program, counts=True)
    tests = tests.filter(tester=tester) if tester else tests.filter(gauge=gauge)
    off = _found_off(program=program, gauge=gauge) if gauge else {}
    weighing = Weighing(program=program, method=None)
    marked = 0
    for test in _whole(tests):
        doubts = _doubts(test, program=program, weighing=weighing, as_of=as_of)
        doubts += [told for since, until, told in off.values() if since <= test.tested_on < until]
        marked += bool(doubts)
        if doubts != list(test.later_doubts):
            _mark(test, doubts=doubts, hand=hand)
    return marked


def _whole(tests: QuerySet[FieldTest]) -> Iterable[FieldTest]:
    return tests.order_by("pk").iterator(chunk_size=500)


def _doubts(test: FieldTest, *, program: Program, weighing: Weighing, as_of: date) -> list[str]:
    if test.assembly_id is None:
        return []
    try:
        kept = kept_report(test, program=program, as_of=as_of)
    except UnreadableReportError as error:
        return [str(error)]
    assembly = assembly_on_record(program=program, assembly_id=test.assembly_id)
    found = weighing.weigh_for(kept.report, assembly=assembly, twins=kept.twins)
    return list(found.admitted.reasons)


def _found_off(*, program: Program, gauge: Gauge) -> Mapping[int, tuple[date, date, str]]:
    """Days between two calibrations, where the later one found the gauge to be off."""
    rows = Calibration.objects.filter(gauge=gauge, program=program, struck_at__isnull=True)
    found: dict[int, tuple[date, date, str]] = {}
    before = date.min
    for row in rows.defer("certificate").order_by("calibrated_on", "pk"):
        error = row.as_found_error_psid
        if error is not None and is_off(error):
            told = gauge_doubt(
                serial=gauge.serial, calibrated_on=row.calibrated_on, error_psid=error
            )
            found[row.pk] = (before, row.calibrated_on, told)
        before = row.calibrated_on
    return found


def _mark(test: FieldTest, *, doubts: list[str], hand: Hand) -> None:
    before = list(test.later_doubts)
    test.later_doubts = doubts
    test.waits_for_person = bool(doubts)
    if doubts:
        test.decided_at, test.decided_by, test.decision = None, "", ""
    test.save(
        update_fields=["later_doubts", "waits_for_person", "decided_at", "decided_by", "decision"]
    )
    record_change(
        hand=hand,
        what="fieldtest",
        subject_id=test.pk,
        label=str(test),
        before={"doubts": before},
        after={"doubts": doubts},
        program=test.program,
    )
