"""What each of two rulebooks asks of an assembly, by replaying its history under the second."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from registry.models import Program
from scheduling.domain.comparing import Comparison, Side
from scheduling.domain.forecast import Course, Forecast, left_by_then
from scheduling.domain.ladders import Ladder, LeftRung
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, CycleRule, Regime, Rulebook
from scheduling.domain.timeline import RulebookFrom
from scheduling.domain.workdays import Holidays
from scheduling.queries.subjects import Subject, subjects

Dated = tuple[RulebookFrom, ...]


@dataclass(slots=True, kw_only=True)
class Books:
    """The rulebooks up to a day, without the draft and with it, and what each forecasts."""

    now: Dated
    then: Dated
    effective_on: date
    live_from: date | None
    forecast_now: Forecast
    forecast_then: Forecast
    holidays: Holidays = ()
    _ladders: dict[tuple[str, str, Attributes], Ladder] = field(default_factory=dict)

    @property
    def in_force(self) -> Rulebook:
        """The rules in force on the day."""
        return self.now[-1].rulebook

    @property
    def draft(self) -> Rulebook:
        """The rules that would be."""
        return self.then[-1].rulebook

    def ladder(self, *, book: Rulebook, kind: str, attributes: Attributes) -> Ladder:
        """Return the ladder for a kind of work of a subject, the same object each time."""
        which = "now" if book is self.in_force else "then"
        key = (which, kind, attributes)
        if key not in self._ladders:
            self._ladders[key] = book.ladder_for(kind=kind, attributes=attributes)
        return self._ladders[key]


def compare_histories(
    *, program: Program, assembly_ids: Sequence[int], books: Books, into: Comparison
) -> None:
    """Replay assemblies under either of the two, and count where they stand on the day."""
    found = subjects(program=program, assembly_ids=assembly_ids, rulebooks=books.now)
    for subject in found:
        attributes = attributes_on(subject, day=books.effective_on)
        if is_in_gap(books.draft, attributes):
            into.in_gap += 1
            continue
        now = _ledger(subject, rulebooks=books.now, books=books)
        then = _ledger(subject, rulebooks=books.then, books=books)
        pairs = pairs_of(now=now, then=then, attributes=attributes, books=books)
        add_pairs(pairs, into=into)


def attributes_on(subject: Subject, *, day: date) -> Attributes:
    """Return what the assembly is on a day."""
    entries = subject.timeline.attributes
    begun = [entry for entry in entries if entry.on <= day]
    return (begun[-1] if begun else entries[0]).attributes


def is_in_gap(draft: Rulebook, attributes: Attributes) -> bool:
    """Whether the draft does not say yet how often such an assembly is tested."""
    kind = draft.main_kind
    return (
        draft.cycle_rule(kind=kind, attributes=attributes) is None
        and draft.exempt_rule(kind=kind, attributes=attributes) is None
        and draft.cycle_gap(kind=kind, attributes=attributes) is not None
    )


def _ledger(subject: Subject, *, rulebooks: Dated, books: Books) -> Ledger:
    timeline = replace(subject.timeline, rulebooks=rulebooks)
    return replay(timeline=timeline, facts=subject.facts, left={}, as_of=books.effective_on)


Pairs = list[tuple[Side, Side]]
"""What each of the two asks of a subject, for every kind of work."""


def pairs_of(*, now: Ledger, then: Ledger, attributes: Attributes, books: Books) -> Pairs:
    """Return what two ledgers of one subject ask, each kind of work by itself."""
    before, after = owed_by_kind(now), owed_by_kind(then)
    found: Pairs = []
    for kind in dict.fromkeys([*before, *after]):
        mine, other = before.get(kind), after.get(kind)
        left = _left(mine, kind=kind, attributes=attributes, books=books)
        pair = (
            _side(mine, left=left, ledger=now, attributes=attributes, books=books,
                  book=books.in_force, forecast=books.forecast_now),
            _side(other, left=left, ledger=then, attributes=attributes, books=books,
                  book=books.draft, forecast=books.forecast_then),
        )  # fmt: skip
        found.append(pair)
    return found


def add_pairs(pairs: Pairs, *, into: Comparison, times: int = 1) -> None:
    """Count so many subjects of which the two ask this."""
    for now, then in pairs:
        into.add(now=now, then=then, times=times)


def owed_by_kind(ledger: Ledger) -> dict[str, Obligation]:
    """Return the open obligation of each kind, else the coming one."""
    found: dict[str, Obligation] = defaultdict()
    for obligation in ledger.coming:
        found[obligation.kind] = obligation
    for obligation in ledger.obligations:
        if obligation.is_open:
            found[obligation.kind] = obligation
    return found


def _left(
    obligation: Obligation | None, *, kind: str, attributes: Attributes, books: Books
) -> tuple[LeftRung, ...]:
    if obligation is None:
        return ()
    return left_by_then(
        ladder=books.ladder(book=books.in_force, kind=kind, attributes=attributes),
        obligation=obligation,
        live_from=books.live_from,
        day=books.effective_on,
        holidays=books.holidays,
    )


def _side(
    obligation: Obligation | None,
    *,
    left: tuple[LeftRung, ...],
    ledger: Ledger,
    attributes: Attributes,
    books: Books,
    book: Rulebook,
    forecast: Forecast,
) -> Side:
    if obligation is None:
        return Side(due_on=None, is_overdue=False, letters=forecast.window.none)
    rule = book.cycle_rule(kind=obligation.kind, attributes=attributes)
    course = Course(
        rule=rule,
        ladder=books.ladder(book=book, kind=obligation.kind, attributes=attributes),
        anchor=_anchor(rule, obligation=obligation, ledger=ledger),
    )
    is_live = obligation.is_open and not obligation.is_suspended
    return Side(
        due_on=obligation.due_on,
        is_overdue=is_live and obligation.due_on < books.effective_on,
        letters=forecast.letters(obligation=obligation, course=course, left=left),
    )


def _anchor(rule: CycleRule | None, *, obligation: Obligation, ledger: Ledger) -> date | None:
    """Return the anchor of an anniversary: what its obligation counts from, else installation."""
    if rule is None or rule.regime is not Regime.ANNIVERSARY:
        return None
    if obligation.key.origin == "cycle":
        return obligation.key.origin_on
    return ledger.installed_on
