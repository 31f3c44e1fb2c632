"""The public holidays of a state, from the library `holidays`, as plain days for the rules."""

from __future__ import annotations

from functools import cache

import holidays

from scheduling.domain.workdays import Holidays

YEARS = range(1990, 2101)


@cache
def closed_days(state: str) -> Holidays:
    """Return the days on which offices of a state (two letters) are closed, days observed included.

    Without a state, or for letters that name none: no day, so that only weekends count.
    Example: Washington, 2026: Friday 3 July, for Saturday 4 July.
    """
    if state not in holidays.list_supported_countries()["US"]:
        return frozenset()
    return frozenset(holidays.country_holidays("US", subdiv=state, years=YEARS))
