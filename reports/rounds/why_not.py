"""Why one more visit fits into none of the planned days, in a sentence for the telephone."""

from __future__ import annotations

from registry.models import Premises
from reports.rounds.as_planned import AsPlanned
from scheduling.domain.rounds.insertion import why_not_in


def why_no_slot(planned: AsPlanned, premises: Premises) -> str:
    """The cheapest reason that holds; what is planned already is the last one."""
    visit = planned.week.problem.visit_by_key[str(premises.pk)]
    words = why_not_in(planned.draft, visit).words
    return words[:1].upper() + words[1:]
