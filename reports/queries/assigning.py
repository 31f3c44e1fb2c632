"""Premises to assign: by ZIP, street and square of the map, with who has them now."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from registry.models import Firm, Premises, Program
from reports.domain.map_areas import DrawnArea
from reports.domain.map_squares import Squares, squares_around
from reports.rounds.crews import acceptance_of
from reports.rounds.due_work import due_by_premises, testing_firms
from scheduling.models import Obligation

AHEAD = timedelta(days=90)
MOST = 500


@dataclass(frozen=True, kw_only=True)
class Area:
    """What is asked for: ZIP codes, parts of street names, squares, a drawn area.

    A premises that answers to one of them is in. `only_free` leaves out what a company has.
    """

    zips: tuple[str, ...] = ()
    streets: tuple[str, ...] = ()
    squares: tuple[str, ...] = ()
    drawn: DrawnArea | None = None
    only_free: bool = False

    @property
    def is_empty(self) -> bool:
        """Nothing was asked for."""
        return not (self.zips or self.streets or self.squares or self.drawn)


@dataclass(frozen=True, kw_only=True)
class ToAssign:
    """A premises with work due, and the companies a person assigned."""

    premises: Premises
    tests: int
    first: Obligation
    """What is due earliest: its page says why."""
    due_on: date
    firms: tuple[Firm, ...]


@dataclass(frozen=True, kw_only=True)
class Assignable:
    """What the area holds, and how many premises with due work lie in each square."""

    rows: tuple[ToAssign, ...]
    """The first of them."""
    all_pks: tuple[int, ...]
    """The premises of all of them, in the same order."""
    without_place: int = 0
    """How many premises with work due have no coordinates, and so lie in no area of a map."""
    squares: Squares | None = None
    counts: Mapping[str, int] = field(default_factory=dict)
    places: tuple[tuple[float, float], ...] = ()

    @property
    def total(self) -> int:
        """How many the area holds."""
        return len(self.all_pks)


def words_of_list(text: str) -> tuple[str, ...]:
    """The words between commas, semicolons or line breaks, each once."""
    found = [part.strip() for part in re.split(r"[,;\n]+", text.replace("\x00", ""))]
    return tuple(dict.fromkeys(part for part in found if part))[:50]


def assignable(program: Program, *, area: Area, today: date) -> Assignable:
    """Premises with tests due within ninety days, in the area asked for, by address."""
    due = due_by_premises(program=program, last_day=today + AHEAD)
    premises = list(Premises.objects.filter(program=program, pk__in=due).order_by("address", "pk"))
    firms = testing_firms(program)
    placed = [
        (float(p.lat), float(p.lon)) for p in premises if p.lat is not None and p.lon is not None
    ]
    squares = squares_around(placed)
    counts: dict[str, int] = {}
    rows = []
    for one in premises:
        name = _square(one, squares)
        if name:
            counts[name] = counts.get(name, 0) + 1
        if area.only_free and firms.get(one.pk):
            continue
        if area.is_empty or _lies_in(one, area, square=name):
            owed = due[one.pk]
            first = min(owed, key=lambda each: each.cure_by or each.due_on)
            rows.append(
                ToAssign(
                    premises=one,
                    tests=len(owed),
                    first=first,
                    due_on=first.cure_by or first.due_on,
                    firms=firms.get(one.pk, ()),
                )
            )
    return Assignable(
        rows=tuple(rows[:MOST]),
        all_pks=tuple(row.premises.pk for row in rows),
        without_place=len(premises) - len(placed),
        squares=squares,
        counts=dict(sorted(counts.items())),
        places=tuple(placed),
    )


def _square(one: Premises, squares: Squares | None) -> str:
    if squares is None or one.lat is None or one.lon is None:
        return ""
    return squares.name_of(float(one.lat), float(one.lon))


def _lies_in(one: Premises, area: Area, *, square: str) -> bool:
    address = one.address.lower()
    return (
        (bool(area.zips) and one.zip[:5] in {code[:5] for code in area.zips})
        or any(street.lower() in address for street in area.streets)
        or (bool(square) and square in area.squares)
        or _is_drawn_around(one, area.drawn)
    )


def _is_drawn_around(one: Premises, drawn: DrawnArea | None) -> bool:
    if drawn is None or one.lat is None or one.lon is None:
        return False
    return drawn.holds(float(one.lat), float(one.lon))


def firms_to_choose(program: Program) -> Sequence[Firm]:
    """The testing companies whose testers the program accepts, by name."""
    testers = acceptance_of(program).testers
    return sorted({one.firm for one in testers}, key=lambda firm: (firm.name, firm.pk))
