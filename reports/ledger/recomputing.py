"""Works stored dates and verdicts out again from kept facts, readings and rules."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from notices.queries.left_at_places import left_at
from notices.queries.left_rungs import left_rungs_of
from registry.batches import in_batches
from registry.models import Assembly, Premises, Program
from reports.models import FieldTest
from reports.queries.kept_reports import UnreadableReportError, kept_report
from reports.queries.serials import assembly_on_record
from reports.queries.weighing import Weighing
from scheduling.domain.ledger import Ledger
from scheduling.models import AssemblyState, Obligation, ProgramClock
from scheduling.queries.duties import accounts_at
from scheduling.queries.obligations import key_of
from scheduling.queries.standings import ledger_of
from scheduling.queries.where import OF_NO_ASSEMBLY

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
            yield from _compared(one.serial, stored=stored, ledger=ledger)
    yield from _wrong_at_places(program)


def _wrong_at_places(program: Program) -> Iterator[str]:
    """The same for what is owed of premises and services: protection, surveys."""
    clock = ProgramClock.objects.filter(program=program).first()
    day = clock.last_run_on if clock and clock.last_run_on else None
    owed = Obligation.objects.filter(OF_NO_ASSEMBLY, program=program)
    if day is None or not owed.exists():
        return
    ids = owed.values_list("premises_id", "connection__premises_id").distinct()
    places = sorted({pk for pair in ids for pk in pair if pk is not None})
    for some in in_batches(places, size=AT_ONCE):
        for site in Premises.objects.filter(pk__in=some).select_related("program").order_by("pk"):
            left = left_at(site, as_of=day, known_on=None)
            for account in accounts_at(site, as_of=day, left=left):
                service = account.service
                whose = {"premises": site} if service is None else {"connection": service}
                rows = Obligation.objects.filter(OF_NO_ASSEMBLY, **whose)
                stored = list(rows.exclude(successor__isnull=False))
                name = str(site) if service is None else f"{site}, {service.kind}"
                yield from _compared(name, stored=stored, ledger=account.lived.ledger)


def _compared(name: str, *, stored: Sequence[Obligation], ledger: Ledger) -> Iterator[str]:
    """Hold the stored obligations of one subject to what its facts give, both ways."""
    found = {each.key: each for each in (*ledger.obligations, *ledger.coming)}
    known = {key_of(row): row for row in stored}
    for key, row in known.items():
        again = found.get(key)
        if again is None:
            if row.closed_how != "superseded":
                yield f"{name}: the facts give no obligation due {row.due_on}."
            continue
        for column in DATES:
            was, now = getattr(row, column), getattr(again, column)
            if was != now:
                yield f"{name}: {column} is {was} as stored, {now} by its facts."
    for each in ledger.obligations:
        if each.key not in known:
            yield f"{name}: an obligation due {each.due_on} is gone; its facts give one."


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
        parts = json.loads(json.dumps(again.verdict()))
        for part in ("initial", "final"):
            was = test.verdict.get(part)
            if was and was.get("criteria") != (parts[part] or {}).get("criteria"):
                yield (
                    f"Field test of {test.serial}, {test.tested_on}: what its {part} test was "
                    "held to is not what its readings and the method give."
                )
