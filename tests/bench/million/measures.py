"""Each piece of work of a large registry beside its limit, measured in the same run."""

from __future__ import annotations

import hashlib
import statistics
from collections.abc import Callable, Sequence
from datetime import date

from django.db import connection, transaction

from notices.actions.clocks import Day
from notices.actions.noting import note_owed
from notices.models import Notice
from notices.queries.owed import obligations_to_look_at
from registry.models import Program
from scheduling.actions.opening import open_obligations
from scheduling.actions.recalculating import recalculate
from scheduling.domain.facts import FactKind
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.models import Adoption, DayRun, Obligation
from scheduling.models import Fact as FactRow
from scheduling.models import Rulebook as RulebookRow
from scheduling.queries.comparing import compared
from scheduling.queries.opening import come_to_open, idle_among
from tests.bench.million.filling import AT, LATER, PROGRAMS
from tests.bench.million.lives import DAY
from tests.bench.million.plans import Read, read_by, statement_of
from tests.bench.million.timing import Row, keys_looked_up, medians, now, rolled_back, timed

# --- the day ----------------------------------------------------------------------------------


def _days() -> list[Day]:
    return [
        Day(program=p, on=DAY, at=LATER,
            run=DayRun.objects.create(program=p, as_of=DAY, started_at=LATER))
        for p in Program.objects.order_by("pk")
    ]  # fmt: skip


def day_cycle(*, times: int) -> Row:
    """Opening and recording notices, beside one UPDATE of the same rows by their ids."""
    days = _days()
    touched: set[int] = set()
    counts: list[int] = []

    def work() -> None:
        counts[:] = [0, 0]
        for day in days:
            counts[0] += open_obligations(program=day.program, as_of=DAY)
            counts[1] += note_owed(day)

    with transaction.atomic():
        work()
        opened = Obligation.objects.filter(opened_on=DAY, closed_on__isnull=True)
        noted = Notice.objects.filter(recorded_on=DAY, program__in=[d.program for d in days])
        touched |= set(opened.values_list("pk", flat=True))
        touched |= {pk for pk in noted.values_list("obligation_id", flat=True) if pk is not None}
        transaction.set_rollback(True)
    ids = sorted(touched)

    def one_update() -> None:
        Obligation.objects.filter(pk__in=ids).update(opened_on=DAY, next_action_on=DAY)

    took, limit = medians(lambda: rolled_back(work), lambda: rolled_back(one_update), times=times)
    note = f"{counts[0]:,} opened, {counts[1]:,} notices, {len(ids):,} rows"
    return Row(name="a usual day's cycle", seconds=took, limit=limit, reach=4, note=note)


def day_reads() -> Read:
    """What the statements of the day's cycle read on PostgreSQL: rows and buffers."""
    total = Read(0, 0)
    for day in _days():
        to_open = come_to_open(program=day.program, as_of=DAY)
        looked_at = obligations_to_look_at(day.program, today=DAY)
        ids = list(looked_at.values_list("pk", flat=True))
        total += read_by(*statement_of(to_open.values("pk", "assembly_id")))
        if come := list(to_open.values_list("assembly_id", flat=True)):
            total += read_by(*statement_of(idle_among(come, as_of=DAY)))
        total += read_by(*statement_of(looked_at.values("pk")))
        if ids:  # with nothing to look at, the run asks no more
            gone = Notice.objects.filter(obligation__in=ids)
            before = Obligation.objects.filter(successor__in=ids)
            total += read_by(*statement_of(gone.values("pk")))
            total += read_by(*statement_of(before.values("pk")))
    return total


# --- rules ------------------------------------------------------------------------------------


def _adopt(program: Program, change: Callable[[str], str]) -> RulebookRow:
    """Put a changed edition of a program's rulebook in force on the day."""
    row = Adoption.objects.select_related("rulebook").get(program=program).rulebook
    text = change(row.text)
    assert text != row.text
    made = RulebookRow.objects.create(
        name=row.name, edition=99, program=program, title=row.title, text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(), loaded_at=AT,
    )  # fmt: skip
    Adoption.objects.create(program=program, rulebook=made, effective_on=DAY, recorded_at=LATER)
    return made


def _opens_sooner(text: str) -> str:
    """Another window, and an earlier due date: ten months for a year, 15 May for 31 May."""
    swaps = {
        'every = "FREQ=YEARLY"': 'every = "FREQ=MONTHLY;INTERVAL=10"',
        "opens_days = 60": "opens_days = 50",
        "BYMONTHDAY=31": "BYMONTHDAY=15",
    }
    for old, new in swaps.items():
        text = text.replace(old, new)
    return text


def _repeats(text: str) -> str:
    """More often after repeat failures, within a longest time since the last pass."""
    rule = (
        '\n[[repeat]]\nid = "repeat failures"\nfailures = 2\nof_last = 3\n'
        'every = "FREQ=MONTHLY;INTERVAL=6"\n'
        'citation = "A rule invented for this measure; verify against local code"\n'
    )
    return _opens_sooner(text) + rule


def from_last_pass() -> list[Program]:
    """The programs of which the due date follows from a rule and the last pass."""
    codes = [code for code, book, _ in PROGRAMS if book != "plain-anniversary"]
    return list(Program.objects.filter(code__in=codes).order_by("pk"))


def rule_change(*, times: int) -> Row:
    """All due dates by rule and anchor, beside one set-based UPDATE of the same rows.

    Measured in turn, after one UPDATE that is not: whoever first writes every row of freshly
    built, full indexes splits their pages, which would be counted with one of the two alone.
    """
    programs = from_last_pass()
    tallies: set[int] = set()

    def work() -> float:
        took, tally = _recalculated(programs)
        tallies.add(tally)
        return took

    def limit() -> float:
        took = rolled_back(lambda: _set_based_update(programs))
        settle()
        return took

    limit()
    took, beside = medians(work, limit, times=times)
    (tally,) = tallies
    return Row(name="all due dates, due = f(rule, anchor)", seconds=took, limit=beside, reach=1.5,
               note=f"{tally:,} rows written")  # fmt: skip


def _recalculated(programs: Sequence[Program]) -> tuple[float, int]:
    """Change the rules of programs; return the seconds taken and the rows written."""
    with transaction.atomic():
        for program in programs:
            _adopt(program, _opens_sooner)
        took, tally = 0.0, 0
        for program in programs:
            started = now()
            tally += recalculate(program=program, changed_on=DAY, as_of=DAY, at=LATER).updated
            took += now() - started
        took += timed(keys_looked_up)
        transaction.set_rollback(True)
    settle()
    return took, tally


def _set_based_update(programs: Sequence[Program]) -> None:
    """Move the same columns of the same rows of both tables by date arithmetic alone.

    Every column gets another value, the rulebook too, whose key is looked up on either side.
    """
    adopted = Adoption.objects.values("rulebook")
    other = RulebookRow.objects.exclude(pk__in=adopted).order_by("pk")[0].pk
    ids = ", ".join(str(program.pk) for program in programs)
    later = "{} + 5" if connection.vendor == "postgresql" else "date({}, '+5 days')"
    moved = {name: later.format(name) for name in ("opens_on", "due_on", "next_action_on")}
    detail = "detail || '{}'" if connection.vendor == "postgresql" else "detail || ' '"
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE scheduling_obligation SET origin = origin || ' ', period = period || ' ',"
            f" rule = rule || ' ', detail = {detail}, rulebook_id = {other}, updated_at = %s,"
            f" {', '.join(f'{name} = {to}' for name, to in moved.items())}"
            f" WHERE program_id IN ({ids}) AND closed_on IS NULL",
            ["2025-11-25 12:00:00"],
        )
        cursor.execute(
            f"UPDATE scheduling_assemblystate SET opens_on = {moved['opens_on']},"
            f" due_on = {moved['due_on']}, replayed_as_of = %s, replayed_at = %s"
            f" WHERE program_id IN ({ids}) AND due_on IS NOT NULL",
            [DAY.isoformat(), "2025-11-25 12:00:00"],
        )


def histories_read() -> Row:
    """All due dates where histories count, beside one loop over the facts in order."""
    told: list[tuple[int, int]] = []
    programs = list(Program.objects.order_by("pk"))
    with transaction.atomic():
        for program in programs:
            _adopt(program, _repeats)
        took, number = 0.0, 0
        for program in programs:
            started = now()
            tally = recalculate(
                program=program, changed_on=DAY, as_of=DAY, at=LATER,
                progress=lambda done, of: told.append((done, of)),
            )  # fmt: skip
            took += now() - started
            number += tally.assemblies
        took += timed(keys_looked_up)
        transaction.set_rollback(True)
    settle()
    assert told, "no progress was told"
    limit = statistics.median(timed(keep_last_passes) for _ in range(3))
    return Row(name="all due dates, histories read", seconds=took, limit=limit, reach=12,
               note=f"{number:,} assemblies, {len(told)} words of progress")  # fmt: skip


def keep_last_passes() -> dict[int, date]:
    """Read the facts in order from the database, and keep the last pass of each assembly."""
    passed = FactKind.PASSED.value
    rows = FactRow.objects.filter(withdrawn_at__isnull=True).order_by("assembly_id", "on", "id")
    read = rows.values_list("assembly_id", "kind", "on").iterator(chunk_size=20_000)
    return {assembly_id: on for assembly_id, kind, on in read if kind == passed}


def comparison(*, recalculated: float) -> Row:
    """Comparing a draft over all, beside the recalculation it would be; nothing is written."""
    took = 0.0
    before = _written()
    for program in from_last_pass():
        row = Adoption.objects.select_related("rulebook").get(program=program).rulebook
        draft = read_rulebook(_opens_sooner(row.text))
        started = now()
        compared(program=program, draft=draft, effective_on=DAY)
        took += now() - started
    assert _written() == before, "comparing wrote rows"
    return Row(name="comparing a draft over all", seconds=took, limit=recalculated, reach=1,
               note="beside the recalculation; wrote nothing")  # fmt: skip


def _written() -> object:
    """What the database says it has written so far (PostgreSQL), or changed (SQLite)."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_stat_clear_snapshot()")
            cursor.execute(
                "SELECT relname, n_tup_ins, n_tup_upd, n_tup_del FROM pg_stat_user_tables"
                " ORDER BY relname"
            )
            return cursor.fetchall()
        return cursor.connection.total_changes


def settle() -> None:
    """Clear away what rolled-back work left behind, so that the next measure starts alike."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE scheduling_obligation")
            cursor.execute("VACUUM ANALYZE scheduling_assemblystate")
