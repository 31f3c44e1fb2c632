"""Which busy calendars a person may see, and the hours they hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from django.db.models import Count, Min, Q, QuerySet

from reports.models import BusyCalendar, BusySpan
from reports.queries.feeds import testers_seen
from scheduling.views.desk import Desk

Span = tuple[datetime, datetime]


def busy_calendars_seen(desk: Desk) -> QuerySet[BusyCalendar]:
    """The calendars of testers whose rounds the person sees, with what of each lies ahead."""
    ahead = Q(spans__ends_at__gt=desk.now)
    return (
        BusyCalendar.objects.filter(tester__in=testers_seen(desk).values("pk"))
        .select_related("tester")
        .annotate(
            ahead=Count("spans", filter=ahead),
            next_at=Min("spans__starts_at", filter=Q(spans__starts_at__gt=desk.now)),
        )
        .order_by("tester__name", "name", "pk")
    )


def busy_spans(
    testers: Collection[int], *, moments: tuple[datetime, datetime]
) -> dict[int, list[Span]]:
    """The busy hours of testers between two moments, by tester; overlapping ones stay so."""
    found: dict[int, list[Span]] = defaultdict(list)
    rows = BusySpan.objects.filter(
        calendar__tester__in=testers, starts_at__lt=moments[1], ends_at__gt=moments[0]
    ).values_list("calendar__tester", "starts_at", "ends_at")
    for tester, starts, ends in rows.order_by("starts_at", "pk"):
        found[tester].append((starts, ends))
    return found
