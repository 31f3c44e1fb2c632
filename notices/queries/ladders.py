"""The ladder of a stored rulebook or obligation, and what a letter may say of its later rungs."""

from __future__ import annotations

from notices.domain.briefs import Step
from notices.domain.kinds import Channel
from scheduling.domain.ladders import Ladder, Rung
from scheduling.domain.matching import Attributes
from scheduling.models import Obligation, Rulebook
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


def steps_after(ladder: Ladder, *, rung: str) -> tuple[Step, ...]:
    """Return what may follow a rung, as a letter speaks of it."""
    keys = [step.key for step in ladder.rungs]
    return tuple(_step(later) for later in ladder.rungs[keys.index(rung) + 1 :])


def courtesy_rungs(ladder: Ladder) -> frozenset[str]:
    """Return the keys of the rungs no law asks for."""
    return frozenset(rung.key for rung in ladder.rungs if rung.is_skippable)


def _step(rung: Rung) -> Step:
    return Step(
        kind=rung.key,
        gap_days=rung.gap_days if rung.after is not None else None,
        is_courtesy=rung.is_skippable,
        is_certified=rung.channel == Channel.CERTIFIED,
        needs_person=rung.needs_release,
        citation=rung.citation,
    )
