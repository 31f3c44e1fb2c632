"""The rulebook in force at a desk; None before any was adopted."""

from __future__ import annotations

from scheduling.domain.rulebook import Rulebook
from scheduling.models import Adoption
from scheduling.queries.rulebooks import NoRulebookError, adoption_in_force, rulebook_from
from scheduling.views.desk import Desk


def adoption_of(desk: Desk) -> Adoption | None:
    """What is in force on the desk's day, with its rulebook."""
    try:
        return adoption_in_force(program=desk.program, on=desk.today)
    except NoRulebookError:
        return None


def rulebook_of(desk: Desk) -> Rulebook | None:
    """The rules in force on the desk's day."""
    adoption = adoption_of(desk)
    return rulebook_from(adoption.rulebook) if adoption else None
