"""Premises to assign: by ZIP, street and square of the map, with who has them now."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final

from django.db.models import (
    Case,
    Count,
    F,
    FloatField,
    IntegerField,
    Max,
    Min,
    Q,
    QuerySet,
    Value,
    When,
)  # fmt: skip
from django.db.models.functions import Cast, Floor, Least, Left

from registry.models import Firm, Premises, Program
from reports.domain.map_areas import DrawnArea
from reports.domain.map_squares import ACROSS, COLUMNS, DOWN, Squares, squares_around
from reports.rounds.crews import acceptance_of
from reports.rounds.due_work import by_a_person, by_premises, tests_due
from scheduling.models import Obligation

AHEAD = timedelta(days=90)
MOST = 500
MOST_DOTS = 5000
PLACED: Final = Q(lat__isnull=False, lon__isnull=False)


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
    total: int
    """How many the area holds."""
    without_place: int = 0
    """How many premises with work due have no coordinates, and so lie in no area of a map."""
    squares: Squares | None = None
    counts: Mapping[str, int] = field(default_factory=dict)
    places: tuple[tuple[float, float], ...] = ()
    """Where the dots of the map stand."""
    each: int = 1
    """One premises of so many has a dot."""


def words_of_list(text: str) -> tuple[str, ...]:
    """The words between commas, semicolons or line breaks, each once."""
    found = [part.strip() for part in re.split(r"[,;\n]+", text.replace("\x00", ""))]
    return tuple(dict.fromkeys(part for part in found if part))[:50]


def assignable(program: Program, *, area: Area, today: date) -> Assignable:
    """Premises with tests due within ninety days, in the area asked for, by address.

    The database counts, sorts and cuts: what is kept of a large program are the rows shown and
    the dots drawn. Only an area drawn is looked through, without keeping more than who lies in it.
    """
    due = tests_due(program=program, last_day=today + AHEAD)
    sites = _with_work(program, due)
    placed = sites.filter(PLACED)
    with_place, squares = _squares_of(placed)
    chosen = _chosen(program, sites, area, squares)
    shown: Collection[int]
    if area.drawn is None:
        total = chosen.count()
        shown = list(chosen.values_list("pk", flat=True)[:MOST])
    else:
        inside = _pks(chosen, area)
        total, shown = len(inside), inside[:MOST]
    each = max(-(-with_place // MOST_DOTS), 1)
    dots: QuerySet[Any, Any] = placed
    if each > 1:
        dots = placed.order_by("pk").alias(nth=F("pk") % each).filter(nth=0)
    return Assignable(
        rows=tuple(_rows(program, shown, due)),
        total=total,
        without_place=sites.count() - with_place,
        squares=squares,
        counts=_counts(placed, squares),
        places=tuple((float(a), float(b)) for a, b in dots.values_list("lat", "lon")),
        each=each,
    )


def assignable_pks(program: Program, *, area: Area, today: date) -> list[int]:
    """All premises of the area, those not shown too."""
    due = tests_due(program=program, last_day=today + AHEAD)
    sites = _with_work(program, due)
    _, squares = _squares_of(sites.filter(PLACED))
    return _pks(_chosen(program, sites, area, squares), area)


def _with_work(program: Program, due: QuerySet[Obligation]) -> QuerySet[Premises]:
    owing = due.order_by().values("assembly__premises")
    return Premises.objects.filter(program=program, pk__in=owing).order_by("address", "pk")


def _squares_of(placed: QuerySet[Premises]) -> tuple[int, Squares | None]:
    """How many premises have coordinates, and the squares around them."""
    of = placed.order_by().aggregate(
        many=Count("pk"), south=Min("lat"), west=Min("lon"), north=Max("lat"), east=Max("lon")
    )
    if not of["many"]:
        return 0, None
    corners = [(float(of["south"]), float(of["west"])), (float(of["north"]), float(of["east"]))]
    return of["many"], squares_around(corners)


def _in_squares(placed: QuerySet[Premises], squares: Squares) -> QuerySet[Any, Any]:
    """With the column and the row of each, as `Squares.name_of` counts them."""
    lat, lon = Cast("lat", FloatField()), Cast("lon", FloatField())
    wide, tall = squares.east - squares.west, squares.north - squares.south
    column = Least(Floor((lon - squares.west) / wide * ACROSS), ACROSS - 1) if wide else Value(0)
    row = Least(Floor((squares.north - lat) / tall * DOWN), DOWN - 1) if tall else Value(0)
    return placed.annotate(column=Cast(column, IntegerField()), row=Cast(row, IntegerField()))


def _counts(placed: QuerySet[Premises], squares: Squares | None) -> dict[str, int]:
    if squares is None:
        return {}
    rows = _in_squares(placed, squares).order_by().values_list("column", "row")
    found = rows.annotate(many=Count("pk"))
    return dict(sorted((f"{COLUMNS[column]}{row + 1}", many) for column, row, many in found))


def _chosen(
    program: Program, sites: QuerySet[Premises], area: Area, squares: Squares | None
) -> QuerySet[Any, Any]:
    """The premises of the area; with one drawn all that may lie in it, marked ``is_named``."""
    if area.only_free:
        sites = sites.exclude(pk__in=by_a_person(program).values("premises"))
    if area.is_empty:
        return sites
    named = Q(zip5__in=[code[:5] for code in area.zips])
    for street in area.streets:
        named |= Q(address__icontains=street)
    if squares is not None and area.squares:
        named |= Q(pk__in=_chosen_squares(sites.filter(PLACED), squares, area.squares))
    sites = sites.alias(zip5=Left("zip", 5))
    if area.drawn is None:
        return sites.filter(named)
    lats, lons = zip(*area.drawn.corners, strict=True)
    around = Q(lat__range=(min(lats), max(lats)), lon__range=(min(lons), max(lons)))
    return sites.annotate(is_named=Case(When(named, then=1), default=0)).filter(named | around)


def _chosen_squares(
    placed: QuerySet[Premises], squares: Squares, names: Sequence[str]
) -> QuerySet[Any, Any]:
    wanted = Q(pk__in=[])
    for name in names:
        if len(name) == 2 and name[0] in COLUMNS and name[1].isdigit():
            wanted |= Q(column=COLUMNS.index(name[0]), row=int(name[1]) - 1)
    return _in_squares(placed.order_by(), squares).filter(wanted).values("pk")


def _pks(chosen: QuerySet[Any, Any], area: Area) -> list[int]:
    if area.drawn is None:
        return list(chosen.values_list("pk", flat=True))
    holds = area.drawn.holds
    rows = chosen.values_list("pk", "lat", "lon", "is_named").iterator(chunk_size=5000)
    return [
        pk
        for pk, lat, lon, is_named in rows
        if is_named or (lat is not None and lon is not None and holds(float(lat), float(lon)))
    ]


def _rows(
    program: Program, shown: Collection[int], due: QuerySet[Obligation]
) -> Iterator[ToAssign]:
    owed = by_premises(due.filter(assembly__premises__in=shown))
    firms: dict[int, tuple[Firm, ...]] = {}
    assigned = by_a_person(program).filter(premises__in=shown)
    for row in assigned.select_related("firm").order_by("firm__key"):
        firms[row.premises_id] = (*firms.get(row.premises_id, ()), row.firm)
    for one in Premises.objects.filter(pk__in=shown).order_by("address", "pk"):
        first = min(owed[one.pk], key=lambda each: each.cure_by or each.due_on)
        yield ToAssign(
            premises=one,
            tests=len(owed[one.pk]),
            first=first,
            due_on=first.cure_by or first.due_on,
            firms=firms.get(one.pk, ()),
        )


def firms_to_choose(program: Program) -> Sequence[Firm]:
    """The testing companies whose testers the program accepts, by name."""
    testers = acceptance_of(program).testers
    return sorted({one.firm for one in testers}, key=lambda firm: (firm.name, firm.pk))
