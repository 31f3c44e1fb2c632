"""Who or which day a customer asked not to have, on the days of a plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.db.models import Q

from registry.models import Program
from reports.models import NotForVisit
from reports.rounds.crews import CrewDay


def standing_wishes(
    *, program: Program, from_on: date, premises: Iterable[int] | None = None
) -> Mapping[int, tuple[NotForVisit, ...]]:
    """What premises asked for and nobody ended, as far as it holds on or after a day."""
    rows = NotForVisit.objects.filter(
        Q(until_on__isnull=True) | Q(until_on__gte=from_on),
        premises__program=program,
        ended_at__isnull=True,
    )
    if premises is not None:
        rows = rows.filter(premises__in=list(premises))
    found: dict[int, tuple[NotForVisit, ...]] = defaultdict(tuple)
    for row in rows.select_related("tester").order_by("at", "pk"):
        found[row.premises_id] += (row,)
    return found


def concerns(wish: NotForVisit, *, tester_id: int | None, on: date) -> bool:
    """Whether a wish speaks of this tester on this day; all that it names must be so."""
    return (
        wish.tester_id in {None, tester_id}
        and wish.on in {None, on}
        and wish.weekday in {None, on.weekday()}
        and (wish.until_on is None or on <= wish.until_on)
    )


def barred_days(
    wishes: Sequence[NotForVisit], crews: Sequence[CrewDay]
) -> frozenset[tuple[str, date]]:
    """The testers' days that the wishes rule out."""
    return frozenset(
        (str(day.tester.pk), day.on)
        for day in crews
        if any(concerns(wish, tester_id=day.tester.pk, on=day.on) for wish in wishes)
    )


def closed_by_wish(wishes: Sequence[NotForVisit], dates: Iterable[date]) -> frozenset[str]:
    """The days, as ISO dates, on which nobody is wanted."""
    whole = [wish for wish in wishes if wish.tester_id is None]
    return frozenset(
        on.isoformat()
        for on in dates
        if any(concerns(wish, tester_id=None, on=on) for wish in whole)
    )
