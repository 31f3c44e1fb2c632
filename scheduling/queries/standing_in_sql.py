"""Standing in the database: the same comparison of dates as `standing_on`, for whole lists."""

from __future__ import annotations

from datetime import date

from django.db.models import Case, CharField, Q, Value, When
from django.db.models.expressions import Combinable

from scheduling.domain.standing import Standing


def standing_q(standing: Standing, *, day: date, via: str = "state__") -> Q:
    """The rows that stand so on a day, without regard to the standings asked before it."""
    is_open = Q(**{f"{via}opens_on__lte": day})
    conditions = {
        Standing.REMOVED: Q(**{f"{via}removed_on__lte": day}),
        Standing.EXEMPT: Q(**{f"{via}is_exempt": True}),
        Standing.IDLE: Q(**{f"{via}idle_since__lte": day}),
        Standing.FAILED: is_open & Q(**{f"{via}failed_on__isnull": False}),
        Standing.OVERDUE: is_open & Q(**{f"{via}due_on__lt": day}),
        Standing.UNTESTED: Q(**{f"{via}last_passed_on__isnull": True}),
        Standing.DUE: is_open,
    }
    return conditions[standing]


def standing_case(*, day: date, via: str = "state__") -> Combinable:
    """The name of the standing; the first that holds wins, as in `Standing`'s own order."""
    whens = [
        When(standing_q(one, day=day, via=via), then=Value(one.value))
        for one in Standing
        if one is not Standing.GOOD
    ]
    return Case(*whens, default=Value(Standing.GOOD.value), output_field=CharField())
