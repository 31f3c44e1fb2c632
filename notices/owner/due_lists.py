"""What is due as the owner's page lists it: at once, or by premises where it is much.

Three hundred lines before what to do would hide it: then the list stands after it, closed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from notices.domain.cleaning import clean
from notices.domain.letter_tables import LONGEST_WITHIN


@dataclass(frozen=True, slots=True, kw_only=True)
class DueNow:
    """One open obligation as the owner reads it; the first line of `where` is its premises."""

    standing: str
    stands: str
    assembly: tuple[str, ...]
    where: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DueAtPlace:
    """What is due at one premises."""

    place: str
    due: tuple[DueNow, ...]


def by_place(due: Sequence[DueNow]) -> tuple[DueAtPlace, ...]:
    """Return a long list by its premises, the earliest date first; a short one: none."""
    if len(due) <= LONGEST_WITHIN:
        return ()
    places: dict[str, list[DueNow]] = {}
    for one in due:
        places.setdefault(clean(one.where[0]), []).append(one)
    return tuple(DueAtPlace(place=place, due=tuple(found)) for place, found in places.items())
