"""One assembly and one board, beside the simplest that could be done instead."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from registry.models import Program
from scheduling.actions.standing_board import kept_figures, renew_board
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.timeline import RulebookFrom
from scheduling.models import AssemblyState, StandingBoard
from scheduling.queries.board_figures import BoardFigures
from scheduling.queries.shipped import shipped_rulebook
from tests.bench.million.filling import LATER, PROGRAMS
from tests.bench.million.lives import ALWAYS, DAY, Life, lives, timeline_of
from tests.bench.million.timing import Row, clocked, medians


def one_replay() -> list[Row]:
    """Replay of one assembly with 30 facts, beside a loop that keeps the last pass."""
    rows = []
    for name in ("plain-rolling", "plain-anniversary", "plain-season"):
        book = shipped_rulebook(name)
        facts = _thirty_facts()
        timeline = timeline_of(
            _any_life(book).attributes, rulebooks=(RulebookFrom(on=ALWAYS, rulebook=book),)
        )

        def work() -> float:
            return clocked(lambda: replay(timeline=timeline, facts=facts, left={}, as_of=DAY))  # noqa: B023

        took, limit = medians(work, lambda: clocked(lambda: _last_pass(facts)), times=501)  # noqa: B023
        rows.append(Row(name=f"replay of 30 facts, {name}", seconds=took * 1e6, limit=limit * 1e6,
                        reach=100, unit="µs"))  # fmt: skip
    return rows


def _any_life(book: Rulebook) -> Life:
    return lives(rulebook=book, count=1, seed=3)[0]


def _thirty_facts() -> list[Fact]:
    facts = [Fact(kind=FactKind.INSTALLED, on=date(1996, 5, 4))]
    for year in range(1997, 2026):
        kind = FactKind.FAILED if year % 7 == 0 else FactKind.PASSED
        on = date(year, 5, 1) + timedelta(days=(year * 37) % 50 - 25)
        facts.append(Fact(kind=kind, on=on, sequence=year))
    return facts


def _last_pass(facts: Sequence[Fact]) -> date | None:
    last = None
    for fact in facts:
        if fact.kind is FactKind.PASSED and (last is None or fact.on > last):
            last = fact.on
    return last


def board(*, times: int) -> Row:
    """The standing board of the largest program, beside one indexed read through the ORM."""
    program = Program.objects.get(code=PROGRAMS[0][0])
    if not StandingBoard.objects.filter(program=program, on=DAY).exists():
        renew_board(program=program, on=DAY, at=LATER)
    first = (
        AssemblyState.objects.filter(program=program).order_by("pk").values_list("pk", flat=True)
    )
    some = first[0]

    def work() -> float:
        return clocked(lambda: board_of(program))

    took, limit = medians(
        work, lambda: clocked(lambda: AssemblyState.objects.get(pk=some)), times=times
    )
    return Row(name="standing board of half of them", seconds=took * 1e3, limit=limit * 1e3,
               reach=5, unit="ms")  # fmt: skip


def board_of(program: Program) -> BoardFigures:
    """Read the kept board, as pages do."""
    return kept_figures(StandingBoard.objects.get(program=program))
