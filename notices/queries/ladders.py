"""The ladder of a stored rulebook or obligation, and what a letter may say of its later rungs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from notices.domain.briefs import Step
from notices.domain.kinds import Channel
from scheduling.closed_days import closed_days
from scheduling.domain.ladders import Ladder, LeftRung, Rung, next_rung
from scheduling.domain.matching import Attributes
from scheduling.models import Obligation, Rulebook
from scheduling.queries.obligations import as_domain
from scheduling.queries.rulebooks import rulebook_from
from scheduling.queries.shapes import attributes_of
from scheduling.queries.where import attributes_at


def ladder_of(rulebook: Rulebook) -> Ladder:
    """Return the ladder of a stored rulebook."""
    return rulebook_from(rulebook).ladder


def ladder_for(row: Obligation) -> Ladder:
    """Return the ladder of one obligation: that of its kind, for its subject as it is now.

    The subject is asked for only where a rung asks; read rows with assembly, premises and
    connection.
    """
    ladder = ladder_of(row.rulebook)
    attributes = Attributes()
    if ladder.tells_subjects_apart:
        attributes = attributes_of(row.assembly) if row.assembly else attributes_at(row)
    return ladder.for_kind(kind=row.kind, attributes=attributes)


def steps_after(
    ladder: Ladder, *, rung: str, on: Mapping[str, date] | None = None
) -> tuple[Step, ...]:
    """Return what may follow a rung, as a letter speaks of it; `on`: the day each may come."""
    days = on or {}
    later = ladder.rungs[keys_of(ladder).index(rung) + 1 :]
    return tuple(_step(one, on=days.get(one.key)) for one in later)


def keys_of(ladder: Ladder) -> list[str]:
    """Return the keys of a ladder's rungs in their order."""
    return [step.key for step in ladder.rungs]


def days_ahead(
    *, ladder: Ladder, row: Obligation, left: Sequence[LeftRung], gone: LeftRung
) -> dict[str, date]:
    """Return the first day of each lawful rung once one has left, each leaving on its day.

    Example: final left 3 November, the order 10 days after it: `shutoff-order` 13 November.
    """
    holidays = closed_days(row.program.state)
    rungs = (replace(one, repeat=None) for one in ladder.rungs)
    lawful = Ladder(tuple(one for one in rungs if not one.is_skippable or one.key == gone.rung))
    owed, told = as_domain(row), [*left, replace(gone, delivered_on=gone.left_on)]
    found: dict[str, date] = {}
    for _ in lawful.rungs:
        step = next_rung(
            ladder=lawful, obligation=owed, left=told, today=told[-1].left_on, holidays=holidays
        )
        if step is None or step.rung.key in found:
            break
        found[step.rung.key] = step.on
        told.append(
            LeftRung(
                rung=step.rung.key,
                left_on=step.on,
                occurrence=step.occurrence,
                delivered_on=step.on,
            )
        )
    return found


def courtesy_rungs(ladder: Ladder) -> frozenset[str]:
    """Return the keys of the rungs no law asks for."""
    return frozenset(rung.key for rung in ladder.rungs if rung.is_skippable)


def _step(rung: Rung, *, on: date | None) -> Step:
    return Step(
        kind=rung.words,
        is_working=rung.is_working,
        on=on,
        gap_days=rung.gap_days if rung.after is not None else None,
        is_courtesy=rung.is_skippable,
        is_certified=rung.channel == Channel.CERTIFIED,
        needs_person=rung.needs_release,
        citation=rung.citation,
    )
