"""What every page says above and below itself: whose office, who reads, which words, which day."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from notices.queries.pacing import letter_hold
from scheduling.views.desk import Desk, Seat
from scheduling.views.masthead import masthead_of


def masthead(request: HttpRequest) -> dict[str, Any]:
    """The masthead of a request; bare for somebody who is not logged in.

    A hold on all letters stands on every page of the office.
    """
    desk: Desk | None = getattr(request, "desk", None)
    is_office = desk is not None and desk.seat is Seat.OFFICE
    hold = letter_hold(desk.program, on=desk.today) if desk is not None and is_office else None
    return {"masthead": masthead_of(request), "letters_held": hold}
