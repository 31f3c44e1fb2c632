"""How a program plans its days, with what is usual where nobody said otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from registry.models import Program
from reports.models import PlanningRules
from scheduling.domain.rounds.staying import USUAL_MINUTES


@dataclass(frozen=True)
class Ruled:
    """Whether all that is due may be visited, minutes are learned, ZIP codes place premises.

    A plan made anew moves a visit only where that saves more than ``stay_minutes`` of driving.
    Parts for assemblies from ``parts_from_in`` inches on take a place in the van each; None: none.
    """

    due_is_assigned: bool
    learns_minutes: bool = True
    places_by_zip: bool = False
    stay_minutes: int = USUAL_MINUTES
    holidays_off: bool = True
    parts_from_in: Decimal | None = None


def ruled(program: Program) -> Ruled:
    """The program's ways. What is due counts as assigned where nobody said otherwise."""
    row = PlanningRules.objects.filter(program=program).first()
    if row is None:
        return Ruled(due_is_assigned=True)
    return Ruled(
        due_is_assigned=row.due_is_assigned is not False,
        learns_minutes=row.learns_minutes,
        places_by_zip=row.places_by_zip,
        stay_minutes=row.stay_minutes,
        holidays_off=row.holidays_off,
        parts_from_in=row.parts_from_in,
    )
