"""What every page says above and below itself: whose office, who reads, which words, which day."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from scheduling.views.masthead import masthead_of


def masthead(request: HttpRequest) -> dict[str, Any]:
    """The masthead of a request; bare for somebody who is not logged in."""
    return {"masthead": masthead_of(request)}
