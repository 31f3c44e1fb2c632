"""Standing in the database: the same comparison of dates as `standing_on`, for whole lists."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django.db.models import Case, Count, IntegerField, Q, QuerySet, Value, When
from django.db.models.expressions import Combinable

from registry.models import Assembly, Program
from scheduling.domain.standing import Standing
from scheduling.models import StandingBoard
from scheduling.queries.standing_in_sql import standing_case, standing_q

GRAVITY: Final = (
    Standing.FAILED,
    Standing.OVERDUE,
    Standing.UNTESTED,
    Standing.DUE,
    Standing.IDLE,
    Standing.EXEMPT,
    Standing.GOOD,
    Standing.REMOVED,
)
"""What waiting costs, gravest first; the order of every list and of a pin's mark."""

SPANS: Final = (30, 60, 90)
"""Days ahead for which what comes due is counted."""

SHOWN: Final = (
    Standing.GOOD,
    Standing.DUE,
    Standing.OVERDUE,
    Standing.FAILED,
    Standing.UNTESTED,
    Standing.IDLE,
    Standing.EXEMPT,
)
"""The standings of what is in the registry today, as the margin of Today lists them."""


def gravity_case(*, day: date, via: str = "state__") -> Combinable:
    """0 for the gravest standing, rising."""
    whens = [
        When(standing_q(one, day=day, via=via), then=Value(GRAVITY.index(one)))
        for one in Standing
        if one is not Standing.GOOD
    ]
    default = Value(GRAVITY.index(Standing.GOOD))
    return Case(*whens, default=default, output_field=IntegerField())


def with_standing(assemblies: QuerySet[Assembly], *, day: date) -> QuerySet[Any]:
    """Assemblies annotated with `standing` (its name) and `gravity`."""
    return assemblies.annotate(standing=standing_case(day=day), gravity=gravity_case(day=day))


@dataclass(frozen=True, kw_only=True)
class StandingShare:
    """How many stand so, and their share of what is in the registry."""

    standing: str
    assemblies: int
    percent: str


@dataclass(frozen=True, kw_only=True)
class Stands:
    """Where a program's assemblies stand on a day."""

    shares: list[StandingShare]
    in_registry: int
    removed: int
    coming: list[tuple[int, int]]

    def of(self, standing: Standing) -> int:
        """How many stand so."""
        return next((one.assemblies for one in self.shares if one.standing == standing), 0)


def stands_of(program: Program, *, day: date) -> Stands:
    """Where a program's assemblies stand, from the kept board: one indexed read.

    Before the day's first run the board still tells the day before; then it is counted.
    """
    board = StandingBoard.objects.filter(program=program, on=day).first()
    if board is None:
        return where_they_stand(Assembly.objects.filter(program=program), day=day)
    return stands_on(board)


def stands_on(board: StandingBoard) -> Stands:
    """The kept board as counts by standing."""
    counts: dict[str, int] = {}
    for name, number in board.counts.items():
        standing = name.partition("|")[0]
        counts[standing] = counts.get(standing, 0) + number
    return _stands(counts, coming=[(span, board.spans.get(f"{span}", 0)) for span in SPANS])


def where_they_stand(assemblies: QuerySet[Assembly], *, day: date) -> Stands:
    """Counts by standing, and how many come due within 30, 60 and 90 days. Two queries."""
    rows = with_standing(assemblies, day=day).values("standing").order_by("standing")
    counts = {row["standing"]: row["n"] for row in rows.annotate(n=Count("pk"))}
    return _stands(counts, coming=_coming(assemblies, day=day))


def _stands(counts: Mapping[str, int], *, coming: list[tuple[int, int]]) -> Stands:
    total = sum(number for name, number in counts.items() if name != Standing.REMOVED)
    shares = [
        StandingShare(
            standing=one.value,
            assemblies=counts.get(one.value, 0),
            percent=f"{100 * counts.get(one.value, 0) / total:.1f}" if total else "0.0",
        )
        for one in SHOWN
    ]
    return Stands(
        shares=shares,
        in_registry=total,
        removed=counts.get(Standing.REMOVED.value, 0),
        coming=coming,
    )


def _coming(assemblies: QuerySet[Assembly], *, day: date) -> list[tuple[int, int]]:
    in_use = Q(state__removed_on__isnull=True, state__idle_since__isnull=True)
    found = assemblies.aggregate(
        **{
            f"in_{span}": Count(
                "pk",
                filter=in_use
                & Q(state__due_on__gte=day, state__due_on__lte=day + timedelta(days=span)),
            )
            for span in SPANS
        }
    )
    return [(span, found[f"in_{span}"]) for span in SPANS]
