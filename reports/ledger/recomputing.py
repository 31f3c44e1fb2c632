"""Works stored dates and verdicts out again from kept facts, readings and rules."""

from __future__ import annotations

from collections.abc import Iterator

from notices.queries.left_rungs import left_rungs_of
from notices.queries.responsible import in_batches
from registry.models import Assembly, Program
from reports.models import FieldTest
from reports.queries.kept_reports import UnreadableReportError, kept_report
from reports.queries.serials import assembly_on_record
from reports.queries.weighing import Weighing
from scheduling.models import AssemblyState, Obligation
from scheduling.queries.obligations import key_of
from scheduling.queries.standings import ledger_of

AT_ONCE = 200
DATES = ("opens_on", "due_on", "cure_by", "closed_on")


def wrong_dates(program: Program) -> Iterator[str]:
    """Yield each stored obligation whose dates its facts and rulebook do not give."""
    rows = AssemblyState.objects.filter(program=program).order_by("pk")
    for some in in_batches(rows.values_list("pk", "replayed_as_of").iterator(), size=AT_ONCE):
        days = dict(some)
        assemblies = Assembly.objects.filter(pk__in=days).select_related("program")
        for one in assemblies.order_by("pk"):
            stored = list(Obligation.objects.filter(assembly=one).exclude(successor__isnull=False))
            left = left_rungs_of(assembly=one, as_of=days[one.pk])
            ledger = ledger_of(assembly=one, as_of=days[one.pk], left=left)
            found = {each.key: each for each in (*ledger.obligations, *ledger.coming)}
            for row in stored:
                again = found.get(key_of(row))
                if again is None:
                    if row.closed_how != "superseded":
                        yield f"{one.serial}: the facts give no obligation due {row.due_on}."
                    continue
                for name in DATES:
                    was, now = getattr(row, name), getattr(again, name)
                    if was != now:
                        yield f"{one.serial}: {name} is {was} as stored, {now} by its facts."


def wrong_verdicts(program: Program) -> Iterator[str]:
    """Yield each stored field test whose readings give another outcome under its method."""
    weighings: dict[str, Weighing] = {}
    tests = FieldTest.objects.filter(program=program, assembly__isnull=False).order_by("pk")
    for test in tests.iterator(chunk_size=AT_ONCE):
        try:
            kept = kept_report(test, program=program, as_of=test.recorded_at.date())
        except UnreadableReportError as error:
            yield f"Field test of {test.serial}, {test.tested_on}: {error}"
            continue
        assembly = assembly_on_record(program=program, assembly_id=test.assembly_id or 0)
        weighing = weighings.setdefault(
            test.method, Weighing(program=program, method=test.method or None)
        )
        again = weighing.weigh_for(kept.report, assembly=assembly, twins=kept.twins)
        outcome = again.outcome.value if again.outcome else ""
        if outcome != test.outcome:
            yield (
                f"Field test of {test.serial}, {test.tested_on}: the outcome is "
                f"{test.outcome or 'none'} as stored, {outcome or 'none'} by its readings."
            )
