"""Where every assembly of a program stands on a day, and why one stands where it does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from registry.models import Assembly, Program
from scheduling.domain.explanation import Explanation, explain_ledger
from scheduling.domain.ladders import LeftRung
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import ObligationKey
from scheduling.domain.replay import NO_TARGETS, Targets, replay
from scheduling.domain.standing import Standing, StandingDates, dates_of, standing_on
from scheduling.models import AssemblyState, Obligation
from scheduling.queries.obligations import key_of
from scheduling.queries.rulebooks import books_of
from scheduling.queries.subjects import subjects

CHUNK = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingRow:
    """One assembly's standing on a day with the dates behind it; None for what is not owed."""

    assembly_id: int
    standing: Standing
    opens_on: date | None
    due_on: date | None
    cure_by: date | None
    installed_on: date | None
    last_passed_on: date | None
    removed_on: date | None
    idle_since: date | None
    failed_on: date | None


STATE_COLUMNS = (
    "assembly_id",
    "installed_on",
    "last_passed_on",
    "removed_on",
    "idle_since",
    "is_exempt",
    "failed_on",
    "opens_on",
    "due_on",
    "cure_by",
    "replayed_as_of",
)


def standing_rows_then_known(
    *, program: Program, as_of: date, known_at: datetime
) -> Iterator[StandingRow]:
    """Yield the standing on a day as known at a moment, of every assembly recorded by then.

    Every one is replayed: stored dates hold only what is known now.
    """
    rows = Assembly.objects.filter(program=program, created_at__lte=known_at).order_by("pk")
    ids = list(rows.values_list("pk", flat=True))
    yield from _replayed(program=program, assembly_ids=ids, as_of=as_of, known_at=known_at)


def standing_rows(*, program: Program, as_of: date) -> Iterator[StandingRow]:
    """Yield the standing of every assembly of a program on a day, by assembly id.

    Stored dates are compared with the day: one query. Only where a replay was of a later
    day than the one asked about are those assemblies replayed as of it.
    """
    later: list[int] = []
    rows = AssemblyState.objects.filter(program=program).order_by("assembly_id")
    for state in rows.values(*STATE_COLUMNS).iterator(chunk_size=CHUNK):
        if state["replayed_as_of"] > as_of:
            later.append(state["assembly_id"])
            continue
        dates = StandingDates(
            removed_on=state["removed_on"],
            is_exempt=state["is_exempt"],
            idle_since=state["idle_since"],
            failed_on=state["failed_on"],
            last_passed_on=state["last_passed_on"],
            opens_on=state["opens_on"],
            due_on=state["due_on"],
        )
        yield _row(
            state["assembly_id"],
            dates=dates,
            cure_by=state["cure_by"],
            installed_on=state["installed_on"],
            day=as_of,
        )
    yield from _replayed(program=program, assembly_ids=later, as_of=as_of)


def _replayed(
    *,
    program: Program,
    assembly_ids: Sequence[int],
    as_of: date,
    known_at: datetime | None = None,
) -> Iterator[StandingRow]:
    if not assembly_ids:
        return
    rulebooks = books_of(program).dated
    for start in range(0, len(assembly_ids), CHUNK):
        chunk = assembly_ids[start : start + CHUNK]
        for subject in subjects(program=program, assembly_ids=chunk, rulebooks=rulebooks):
            ledger = replay(
                timeline=subject.timeline,
                facts=subject.facts,
                left={},
                as_of=as_of,
                known_at=known_at,
            )
            current = ledger.current
            yield _row(
                subject.assembly_id,
                dates=dates_of(ledger),
                cure_by=current.cure_by if current is not None else None,
                installed_on=ledger.installed_on,
                day=as_of,
            )


def _row(
    assembly_id: int,
    *,
    dates: StandingDates,
    cure_by: date | None,
    installed_on: date | None,
    day: date,
) -> StandingRow:
    return StandingRow(
        assembly_id=assembly_id,
        standing=standing_on(dates=dates, day=day),
        opens_on=dates.opens_on,
        due_on=dates.due_on,
        cure_by=cure_by,
        installed_on=installed_on,
        last_passed_on=dates.last_passed_on,
        removed_on=dates.removed_on,
        idle_since=dates.idle_since,
        failed_on=dates.failed_on,
    )


LeftByKey = Mapping[ObligationKey, Sequence[LeftRung]]


def ledger_of(
    *,
    assembly: Assembly,
    as_of: date,
    known_at: datetime | None = None,
    left: LeftByKey | None = None,
    targets: Targets = NO_TARGETS,
) -> Ledger:
    """Return the ledger of one stored assembly on a day, as known at a moment (None: now)."""
    program = assembly.program
    books = books_of(program)
    found = subjects(program=program, assembly_ids=[assembly.pk], rulebooks=books.dated)
    return replay(
        timeline=found[0].timeline,
        facts=found[0].facts,
        left=left or {},
        as_of=as_of,
        known_at=known_at,
        targets=targets,
    )


def targets_of(assembly: Assembly) -> Targets:
    """Return the days at which tests not done yet are wanted, from levelling."""
    rows = Obligation.objects.filter(
        assembly=assembly, closed_on__isnull=True, target_on__isnull=False
    )
    return {key_of(row): row.target_on for row in rows if row.target_on is not None}


def explain_assembly(
    *,
    assembly: Assembly,
    as_of: date,
    known_at: datetime | None = None,
    left: LeftByKey | None = None,
) -> Explanation:
    """Explain one stored assembly on a day; `left` are the rungs that left, by obligation.

    The floor of letters knows what left and hands it down; without it the next rung is
    that of a subject nothing was ever sent for. Levelling steers the courtesy rungs of today;
    of what was known earlier it says nothing.
    """
    gone = left or {}
    targets = targets_of(assembly) if known_at is None else NO_TARGETS
    ledger = ledger_of(
        assembly=assembly, as_of=as_of, known_at=known_at, left=gone, targets=targets
    )
    current = ledger.current
    ladder = books_of(assembly.program).current(as_of).ladder
    return explain_ledger(
        assembly=assembly.serial,
        ledger=ledger,
        ladder=ladder,
        left=gone.get(current.key, ()) if current is not None else (),
    )
