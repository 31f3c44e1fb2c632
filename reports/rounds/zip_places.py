"""Where a premises without coordinates is, roughly: the middle of its ZIP code.

The places are those of the package ``zipcodes`` (42,789 codes of the United States).
"""

from __future__ import annotations

from functools import lru_cache

import zipcodes

from scheduling.domain.rounds.visits import Spot


@lru_cache(maxsize=2_000)
def middle_of_zip(written: str) -> Spot | None:
    """The middle of a ZIP code, with or without its four figures more; None for an unknown one."""
    code = written.strip()[:5]
    if len(code) != 5 or not code.isdigit():
        return None
    found = zipcodes.matching(code)  # type: ignore[no-untyped-call]
    if not found or not found[0].get("lat"):
        return None
    return Spot(lat=float(found[0]["lat"]), lon=float(found[0]["long"]))
