"""What the law wants sent while all letters are held: told, since a hold stops no clock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from notices.models import LetterHold
from notices.queries.owed import obligations_to_look_at, positions
from registry.models import Program

LOOKED_AT: Final = 500
"""Obligations read one by one; of more only the number is told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldDeadlines:
    """`waiting`: matters whose next step comes by the end of the hold. Of those looked at:
    `lawful` steps that a law asks for, `missed` with a last day that the hold passes."""

    waiting: int
    looked_at: int
    lawful: int
    missed: int


def held_deadlines(program: Program, *, hold: LetterHold) -> HeldDeadlines:
    """Return what a hold keeps in up to its end."""
    rows = obligations_to_look_at(program, today=hold.until_on)
    ids = list(rows.order_by("next_action_on", "pk").values_list("pk", flat=True)[:LOOKED_AT])
    steps = [place.step for place in positions(ids, today=hold.until_on) if place.step]
    lawful = [s for s in steps if s.on <= hold.until_on and not s.rung.is_skippable]
    return HeldDeadlines(
        waiting=rows.count(),
        looked_at=len(ids),
        lawful=len(lawful),
        missed=sum(s.latest_on is not None and s.latest_on <= hold.until_on for s in lawful),
    )
