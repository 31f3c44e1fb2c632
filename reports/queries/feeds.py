"""Which calendars a person may have an address for, which addresses there are, what each shows."""

from __future__ import annotations

from datetime import date

from django.db.models import Q, QuerySet

from registry.access import Verb, memberships_of, visible_premises
from registry.domain.kinds import Role
from registry.models import Premises, Tester
from reports.actions.feeds import shows_since
from reports.domain.calendar_events import CalendarEvent
from reports.models import CalendarFeed
from reports.queries.calendar_days import premises_events, program_events
from reports.queries.calendar_stops import stop_events, stops_of_tester
from reports.queries.company_jobs import own_firms
from scheduling.views.desk import Desk, Seat, day_at

MOST_PREMISES_NAMED = 200


def testers_seen(desk: Desk) -> QuerySet[Tester]:
    """Testers whose rounds a person may carry away: a dispatcher's all, a tester's own."""
    roles = memberships_of(desk.person)
    own = roles.filter(role=Role.TESTER, tester__isnull=False).values("tester")
    firms = own_firms(desk.person).values("pk")
    return (Tester.objects.filter(firm__in=firms) | Tester.objects.filter(pk__in=own)).distinct()


def testers_planned(desk: Desk) -> QuerySet[Tester]:
    """Testers whose visits for this program its office may carry away: those it plans for."""
    if desk.seat is not Seat.OFFICE or Verb.PLAN not in desk.verbs:
        return Tester.objects.none()
    own = getattr(desk.program, "own_firm", None)
    approved = Q(approvals__program=desk.program) | Q(firm=own.pk if own else None)
    return Tester.objects.filter(approved).distinct()


def premises_seen(desk: Desk) -> QuerySet[Premises]:
    """Premises whose dates a person may carry away: the office's, and a property manager's."""
    if desk.seat is Seat.FIRM:
        return Premises.objects.none()
    return visible_premises(desk.person).filter(program=desk.program).order_by("address", "pk")


def feeds_seen(desk: Desk) -> QuerySet[CalendarFeed]:
    """Live addresses of what the person may see; the office sees who reads its program's."""
    found = CalendarFeed.objects.filter(revoked_at__isnull=True)
    mine = found.filter(tester__in=testers_seen(desk).values("pk"))
    if desk.seat is Seat.OFFICE:
        mine |= found.filter(program=desk.program)
        mine |= found.filter(premises__program=desk.program)
    elif desk.seat is Seat.OWNER:
        mine |= found.filter(premises__in=premises_seen(desk).order_by().values("pk"))
    return mine.select_related("tester", "premises", "program").order_by("made_at", "pk")


def events_of(feed: CalendarFeed, *, today: date) -> list[CalendarEvent]:
    """What a feed shows on a day."""
    if feed.tester is not None:
        since = shows_since(today)
        return stop_events(stops_of_tester(feed.tester, since=since, program=feed.program))
    if feed.premises is not None:
        return premises_events(feed.premises, since=shows_since(today))
    assert feed.program is not None
    return program_events(feed.program, today=today)


def day_of(feed: CalendarFeed, *, otherwise: date) -> date:
    """The day a feed lives on: its program's, so that a trial's calendar shows its own time."""
    program = feed.program or (feed.premises.program if feed.premises else None)
    if program is not None:
        return day_at(program)
    assert feed.tester is not None
    rounds = feed.tester.rounds.order_by("-on").first()
    return min(otherwise, rounds.on) if rounds else otherwise


def name_of_feed(feed: CalendarFeed) -> str:
    """What a reader calls the calendar."""
    if feed.tester is not None:
        who = feed.tester.name or feed.tester.certificate
        return f"Visits of {who}, {feed.program.name}" if feed.program else f"Rounds of {who}"
    if feed.premises is not None:
        return f"Backflow tests at {feed.premises.name or feed.premises.address}"
    assert feed.program is not None
    return f"Due in {feed.program.name}"
