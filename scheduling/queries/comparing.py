"""Comparing a draft with what is in force, read in batches; nothing is written.

Where a due date follows from the last pass alone, assemblies that stand alike are counted by
the database and worked out once. Only the others have their histories read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from registry.models import Assembly, Program
from scheduling.closed_days import closed_days
from scheduling.domain.comparing import Comparison
from scheduling.domain.forecast import Forecast, Window
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_table import FIRST_DAY, LAST_DAY
from scheduling.domain.timeline import RulebookFrom
from scheduling.models import AssemblyState, DayRun
from scheduling.queries.alike import Kept, count_alike
from scheduling.queries.rulebooks import books_of
from scheduling.queries.sides import Books, compare_histories

BATCH = 20_000
"""Assemblies looked at between two words about progress."""

HISTORIES = 1_000
"""Histories held in memory at a time."""


class CannotCompareError(ValueError):
    """A comparison that cannot be made; the message says why and what to do."""


@dataclass(slots=True, kw_only=True)
class Question:
    """A draft against what is in force, from the day it would take effect."""

    program: Program
    draft: Rulebook
    effective_on: date
    books: Books = field(init=False)
    last_id: int = 0
    kept: Kept = field(default_factory=dict)

    def __post_init__(self) -> None:
        in_force = books_of(self.program).dated
        before = tuple(entry for entry in in_force if entry.on <= self.effective_on)
        before = before or in_force[:1]
        kept = tuple(entry for entry in before if entry.on < self.effective_on) or before[:1]
        window = Window(start=self.effective_on)
        closed = closed_days(self.program.state)
        self.books = Books(
            now=before,
            then=(*kept, RulebookFrom(on=self.effective_on, rulebook=self.draft)),
            effective_on=self.effective_on,
            live_from=_live_from(self.program),
            forecast_now=Forecast(window, closed),
            forecast_then=Forecast(window, closed),
            holidays=closed,
        )


def ask(*, program: Program, draft: Rulebook, effective_on: date) -> tuple[Question, Comparison]:
    """Return a question and the empty comparison that answers it.

    Raises CannotCompareError for a day before the stored dates hold or beyond the calendar
    kept, NoRulebookError where nothing is in force.
    """
    if not FIRST_DAY <= effective_on <= LAST_DAY:
        raise CannotCompareError(f"{effective_on} lies outside 1900 to 2200: correct the year.")
    question = Question(program=program, draft=draft, effective_on=effective_on)
    newest = (
        AssemblyState.objects.filter(program=program)
        .order_by("-replayed_as_of")
        .values_list("replayed_as_of", flat=True)
        .first()
    )
    if newest is not None and newest > effective_on:
        raise CannotCompareError(
            f"The registry is known as of {newest}: compare from that day or a later one."
        )
    total = Assembly.objects.filter(program=program).count()
    return question, Comparison(effective_on=effective_on, assemblies=total)


def go_on(question: Question, comparison: Comparison) -> Iterator[int]:
    """Compare batch after batch, and yield after each how many assemblies are done.

    `question.last_id` keeps the place, so that another request may go on from there.
    """
    while not comparison.is_whole:
        low, high, number = _next_batch(question)
        if not number:
            comparison.assemblies = comparison.done
            return
        rest = count_alike(
            program=question.program,
            low=low,
            high=high,
            books=question.books,
            kept=question.kept,
            into=comparison,
        )
        for start in range(0, len(rest), HISTORIES):
            compare_histories(
                program=question.program,
                assembly_ids=rest[start : start + HISTORIES],
                books=question.books,
                into=comparison,
            )
        question.last_id = high
        comparison.done += number
        yield comparison.done


def compared(*, program: Program, draft: Rulebook, effective_on: date) -> Comparison:
    """Return the whole comparison, in one go."""
    question, comparison = ask(program=program, draft=draft, effective_on=effective_on)
    for _ in go_on(question, comparison):
        pass
    return comparison


def _next_batch(question: Question) -> tuple[int, int, int]:
    """Return the ids a batch lies between (the first not in it) and how many assemblies it has."""
    ids = Assembly.objects.filter(program=question.program, pk__gt=question.last_id)
    ordered = ids.order_by("pk").values_list("pk", flat=True)
    last = ordered[BATCH - 1 : BATCH].first()
    if last is not None:
        return question.last_id, last, BATCH
    rest = list(ordered[:BATCH])
    return question.last_id, rest[-1] if rest else question.last_id, len(rest)


def _live_from(program: Program) -> date | None:
    """Return the day letters go out since: the first run, or the go-live day after it."""
    runs = DayRun.objects.filter(program=program).order_by("as_of")
    first = runs.values_list("as_of", flat=True).first()
    if first is None or program.is_trial:
        return first
    return max(first, program.go_live_on) if program.go_live_on is not None else None
