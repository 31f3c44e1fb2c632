"""What follows a letter and by which day: the days ahead, the time to be heard, the way back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from notices.domain.briefs import Hearing, Step
from notices.domain.kinds import FINAL_KINDS
from notices.queries.ladders import days_ahead, steps_after
from notices.queries.owed import Position
from scheduling.closed_days import closed_days
from scheduling.domain.ladders import LeftRung, Rung
from scheduling.domain.matching import Attributes
from scheduling.domain.rules import Topic
from scheduling.domain.workdays import days_after
from scheduling.models import Obligation
from scheduling.queries.rulebooks import rulebook_from
from scheduling.queries.shapes import attributes_of
from scheduling.queries.where import attributes_at


@dataclass(frozen=True, slots=True, kw_only=True)
class LastWords:
    """What a final notice says of being heard and of water coming back, by its rulebook."""

    hearing: Hearing | None = None
    restoration: str = ""
    restoration_citation: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """What may follow a letter that leaves on a day."""

    steps: tuple[Step, ...]
    last: LastWords = field(default_factory=LastWords)


def ahead_of(places: Sequence[Position], *, on: date) -> Ahead:
    """Return what may follow the step these obligations share, if its letter leaves on a day.

    Where the obligations differ each day is the earliest.
    """
    first = places[0]
    if first.step is None:
        return Ahead(steps=())
    rung = first.step.rung
    earliest: dict[str, date] = {}
    for place in _unlike(places):
        assert place.step is not None
        gone = LeftRung(rung=rung.key, left_on=on, occurrence=place.step.occurrence)
        days = days_ahead(ladder=place.ladder, row=place.row, left=place.left, gone=gone)
        for key, day in days.items():
            earliest[key] = min(day, earliest.get(key, day))
    steps = steps_after(first.ladder, rung=rung.key, on=earliest)
    if rung.words not in FINAL_KINDS:
        return Ahead(steps=steps)
    return Ahead(steps=steps, last=_last_words(first, rung=rung, on=on, days=earliest))


def _unlike(places: Sequence[Position]) -> list[Position]:
    """Return one of each of the obligations that a ladder cannot tell apart."""
    found = {
        (p.row.due_on, p.row.cure_by, p.row.failed_on, p.row.opens_on, p.left): p for p in places
    }
    return list(found.values())


def _last_words(place: Position, *, rung: Rung, on: date, days: dict[str, date]) -> LastWords:
    book, attributes = rulebook_from(place.row.rulebook), subject_of(place.row)
    back = book.provision(topic=Topic.RESTORATION, attributes=attributes)
    said = book.provision(topic=Topic.HEARING, attributes=attributes)
    order = next((one for one in place.ladder.rungs if one.is_order), None)
    hearing = None
    if said is not None:
        by = None
        if said.days and order is not None:
            received = on + timedelta(days=order.presumed_days)
            holidays = closed_days(place.row.program.state)
            by = days_after(received, said.days, is_working=said.is_working, holidays=holidays)
        # A last notice may come when the time named in the final one has nearly passed.
        is_past = by is not None and order is not None and by >= days.get(order.key, date.max)
        hearing = Hearing(
            by=None if is_past else by,
            words=said.words,
            citation=said.citation,
            is_least=order is not None and order.from_delivery and not order.presumed_days,
        )
    return LastWords(
        hearing=hearing,
        restoration=back.words if back is not None else "",
        restoration_citation=back.citation if back is not None else "",
    )


def subject_of(row: Obligation) -> Attributes:
    """Return what an obligation is about, as rules tell subjects apart."""
    return attributes_of(row.assembly) if row.assembly else attributes_at(row)
