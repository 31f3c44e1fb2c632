"""Premises by what they owe themselves, and those without an assembly: a page at a time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import Exists, OuterRef, Q, QuerySet

from registry.models import Assembly, Premises, PremisesParty, Program
from scheduling.domain.obligations import Origin
from scheduling.models import Obligation
from scheduling.queries.where import OF_NO_ASSEMBLY

ROWS_A_PAGE: Final = 25
MOST_COUNTED: Final = 10_000
SHOWN: Final = ("owed", "protection", "survey", "without")
"""What the list may show: anything owed, one kind of it, or premises without an assembly."""

_UNPROTECTED: Final = Q(origin__startswith=Origin.UNPROTECTED.value)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """The blanks of the filter's sentence."""

    show: str = "owed"
    late: bool = False
    search: str = ""


@dataclass(frozen=True, kw_only=True)
class PlaceRow:
    """One line: a premises, and what it owes; `obligation` None where nothing is asked of it."""

    premises: Premises
    obligation: Obligation | None

    @property
    def is_protection(self) -> bool:
        """Whether protection of a service is owed."""
        owed = self.obligation
        return owed is not None and owed.origin.startswith(Origin.UNPROTECTED.value)


@dataclass(frozen=True, kw_only=True)
class PlacePage:
    """A page of lines with what the line above it counts."""

    rows: list[PlaceRow]
    number: int
    total: int
    has_next: bool

    @property
    def is_capped(self) -> bool:
        """Whether counting stopped."""
        return self.total > MOST_COUNTED


def owed_of_places(program: Program, *, today: date, late: bool = False) -> QuerySet[Obligation]:
    """Return what premises and services of a program owe and a run opened, by an index."""
    rows = Obligation.objects.filter(
        OF_NO_ASSEMBLY, program=program, closed_on__isnull=True, opened_on__isnull=False
    )
    return rows.filter(due_on__lt=today) if late else rows


def without_assembly(seen: QuerySet[Premises]) -> QuerySet[Premises]:
    """Return the open accounts where no assembly stands."""
    standing = Assembly.objects.filter(premises=OuterRef("pk"), state__removed_on__isnull=True)
    return seen.filter(~Exists(standing), account_closed_on__isnull=True)


def page_of_places(
    seen: QuerySet[Premises], *, program: Program, asked: Asked, number: int, today: date
) -> PlacePage:
    """A page of the list: by due date, or by address where nothing is owed. Two queries."""
    start = (max(number, 1) - 1) * ROWS_A_PAGE
    stop = start + ROWS_A_PAGE + 1
    if asked.show == "without":
        found = _searched(without_assembly(seen), asked.search)
        sites = list(found.order_by("address", "pk")[start:stop])
        rows = [PlaceRow(premises=site, obligation=None) for site in sites]
        total = found[: MOST_COUNTED + 1].count()
    else:
        owed = _owed(seen, program=program, asked=asked, today=today)
        lines = list(
            owed.select_related("connection__premises", "premises").order_by("due_on", "pk")[
                start:stop
            ]
        )
        rows = [PlaceRow(premises=row.where, obligation=row) for row in lines]
        total = owed[: MOST_COUNTED + 1].count()
    return PlacePage(
        rows=rows[:ROWS_A_PAGE],
        number=max(number, 1),
        total=total,
        has_next=len(rows) > ROWS_A_PAGE,
    )


def _owed(
    seen: QuerySet[Premises], *, program: Program, asked: Asked, today: date
) -> QuerySet[Obligation]:
    mine = _searched(seen, asked.search).values("pk")
    found = owed_of_places(program, today=today, late=asked.late).filter(
        Q(connection__premises__in=mine) | Q(premises__in=mine)
    )
    if asked.show == "protection":
        return found.filter(_UNPROTECTED)
    return found.exclude(_UNPROTECTED) if asked.show == "survey" else found


def _searched(found: QuerySet[Premises], words: str) -> QuerySet[Premises]:
    """Every word stands in an account, a name, an address, or the name of a party there."""
    for word in words.split()[:6]:
        named = PremisesParty.objects.filter(
            premises=OuterRef("pk"), until_on__isnull=True, party__name__icontains=word
        )
        found = found.filter(
            Q(address__icontains=word)
            | Q(name__icontains=word)
            | Q(account__icontains=word)
            | Q(Exists(named))
        )
    return found
