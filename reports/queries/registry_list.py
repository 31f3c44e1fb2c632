"""The registry as a list: filtered by a sentence, gravest first, a page at a time, two queries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from notices.models import Notice
from registry.models import Alias, Assembly, PremisesParty
from reports.queries.where_they_stand import with_standing
from scheduling.domain.standing import Standing

ROWS_A_PAGE: Final = 25
MOST_COUNTED: Final = 10_000
_LAST_DAY: Final = date(9999, 12, 31)


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """The blanks of the filter's sentence; an empty one takes everything."""

    type: str = ""
    service: str = ""
    standing: str = ""
    rung: str = ""
    hazard: str = ""
    search: str = ""


@dataclass(frozen=True, kw_only=True)
class Page:
    """One page of the list, with what the line above it counts."""

    rows: list[Assembly]
    number: int
    assemblies: int
    premises: int
    has_next: bool

    @property
    def first(self) -> int:
        """Ordinal of the first row."""
        return (self.number - 1) * ROWS_A_PAGE + 1

    @property
    def last(self) -> int:
        """Ordinal of the last row."""
        return (self.number - 1) * ROWS_A_PAGE + len(self.rows)

    @property
    def is_capped(self) -> bool:
        """Whether counting stopped: there are more than the figure says."""
        return self.assemblies > MOST_COUNTED


def wanted_assemblies(
    assemblies: QuerySet[Assembly], *, wanted: Wanted, day: date
) -> QuerySet[Any]:
    """The assemblies a sentence asks for, annotated with standing, gravity and last letter.

    Removed ones show only when they are asked for.
    """
    found = with_standing(assemblies, day=day).annotate(**_last_notice(day))
    if wanted.type:
        found = found.filter(type=wanted.type)
    if wanted.service:
        found = found.filter(connection__kind=wanted.service)
    if wanted.hazard:
        found = found.filter(hazard=wanted.hazard)
    found = _standing(found, wanted.standing)
    if wanted.rung:
        found = found.filter(last_rung=wanted.rung)
    if wanted.search:
        found = found.filter(search_q(wanted.search))
    return found


def _standing(found: QuerySet[Any], standing: str) -> QuerySet[Any]:
    if standing == "not good":
        kept = (Standing.GOOD, Standing.EXEMPT, Standing.IDLE, Standing.REMOVED)
        return found.exclude(standing__in=[one.value for one in kept])
    if standing == "all":
        return found
    if standing:
        return found.filter(standing=standing)
    return found.exclude(standing=Standing.REMOVED.value)


def _last_notice(day: date) -> dict[str, Any]:
    """The last rung that left for the obligation that is open now."""
    left = Notice.objects.filter(
        assembly=OuterRef("pk"),
        left_on__lte=day,
        withdrawn_on__isnull=True,
        sent_in_error_on__isnull=True,
        obligation__closed_on__isnull=True,
    ).order_by("-left_on", "-pk")
    return {
        "last_rung": Subquery(left.values("rung")[:1]),
        "last_rung_on": Subquery(left.values("left_on")[:1]),
    }


def search_q(words: str) -> Q:
    """Every word stands in a serial, an account, a name or an address; Q for assemblies."""
    wanted = Q()
    for word in words.split()[:6]:
        named = PremisesParty.objects.filter(
            premises=OuterRef("premises"), until_on__isnull=True, party__name__icontains=word
        )
        was = Alias.objects.filter(
            Q(assembly=OuterRef("pk")) | Q(party__roles__premises=OuterRef("premises")),
            shown__icontains=word,
        )
        wanted &= (
            Q(serial__icontains=word)
            | Q(Exists(was))
            | Q(premises__address__icontains=word)
            | Q(premises__name__icontains=word)
            | Q(premises__account__icontains=word)
            | Q(Exists(named))
        )
    return wanted


def page_of(found: QuerySet[Any], *, number: int) -> Page:
    """A page, gravest first, then by due date: one query for the rows, one for the counts."""
    number = max(number, 1)
    start = (number - 1) * ROWS_A_PAGE
    ordered = found.select_related("premises", "connection", "state").order_by(
        "gravity", Coalesce("state__due_on", _LAST_DAY), "pk"
    )
    rows = list(ordered[start : start + ROWS_A_PAGE + 1])
    counts = Assembly.objects.filter(pk__in=found.values("pk")[: MOST_COUNTED + 1]).aggregate(
        assemblies=Count("pk"), premises=Count("premises", distinct=True)
    )
    return Page(
        rows=rows[:ROWS_A_PAGE],
        number=number,
        assemblies=counts["assemblies"],
        premises=counts["premises"],
        has_next=len(rows) > ROWS_A_PAGE,
    )
