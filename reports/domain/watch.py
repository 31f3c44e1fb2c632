"""Quality watch: reports worth a look, each with its evidence and how often chance does as much.

Nothing here says that anybody did wrong, and nothing is done by it: a person looks at the papers
and asks. Each of the five watches is a module of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from enum import StrEnum


class Watch(StrEnum):
    """What is looked for."""

    REPEATS = "the same readings at several premises"
    TIMES = "times that cannot both be true"
    JUMPS = "readings that rose without a repair"
    DIGITS = "last figures unlike those of others"
    RATES = "shares of failures far from those of others"


@dataclass(frozen=True, kw_only=True)
class Seen:
    """One report as the watch reads it; figures in the unit recorded.

    `figures` are the readings as found that are figures, by name; `left` what a repair left.
    """

    test_id: int
    on: date
    at: time | None
    assembly_id: int
    type: str
    premises_id: int
    lat: float | None
    lon: float | None
    tester: str
    gauge: str
    figures: tuple[tuple[str, Decimal], ...]
    left: tuple[tuple[str, Decimal], ...]
    found_failing: bool
    was_repaired: bool


@dataclass(frozen=True, kw_only=True)
class Sighting:
    """Something to look at: whom or what it is about, what was seen, how rare that is by chance.

    `by_chance` is None where no chance is worked out: two places at once need none.
    """

    watch: Watch
    about: str
    words: str
    by_chance: float | None
    tests: tuple[int, ...]


def by_tester(reports: Sequence[Seen]) -> dict[str, list[Seen]]:
    """The reports of each tester; those that name none are left out."""
    found: dict[str, list[Seen]] = {}
    for one in reports:
        if one.tester:
            found.setdefault(one.tester, []).append(one)
    return found
