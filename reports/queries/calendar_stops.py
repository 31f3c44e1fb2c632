"""A tester's stops as calendar events: where, what, what to heed, and the way to the entry form."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Q, QuerySet
from django.urls import reverse

from notices.domain.long_dates import long_date
from registry.domain.kinds import ServiceKind
from registry.domain.sizes import size_text
from registry.models import Assembly, Premises, Program, Tester
from reports.domain.calendar_events import CalendarEvent, KeptEvent
from reports.domain.calendar_text import one_line, paragraphs
from reports.domain.cautions import SiteTraits, cautions_for, speaks_of_vault
from reports.domain.wording import in_one_line
from reports.models import FieldTest, Plan, Stop, StopWork
from reports.queries.round_pages import newest_plan
from reports.rounds.due_work import FIXED

RINGS_BEFORE_MINUTES = 30


def testers_with(*, program: Program, certificate: str) -> QuerySet[Tester]:
    """The program's testers of that certificate number: approved ones, or of its own firm."""
    own = getattr(program, "own_firm", None)
    return (
        Tester.objects.filter(certificate=certificate)
        .filter(Q(approvals__program=program) | Q(firm_id=own.pk if own else None))
        .distinct()
    )


def stops_to_show(*, program: Program, testers: QuerySet[Tester]) -> list[Stop]:
    """The stops of the program's latest plan, and older ones that were promised and stand."""
    latest = newest_plan(program)
    if latest is None:
        return []
    kept = Q(round__plan=latest) | Q(FIXED, arrives_at__gte=_begins(latest))
    return with_work(
        Stop.objects.filter(
            kept, program=program, cancelled_at__isnull=True, round__tester__in=testers
        )
    )


def stops_of_tester(tester: Tester, *, since: date, program: Program | None = None) -> list[Stop]:
    """A tester's live stops from a day on, of every program or of one, as a calendar shows them."""
    begins = datetime.combine(since, time.min, UTC) - timedelta(days=1)
    found = Stop.objects.filter(
        round__tester=tester, cancelled_at__isnull=True, arrives_at__gte=begins
    )
    return with_work(found if program is None else found.filter(program=program))


def with_work(stops: QuerySet[Stop]) -> list[Stop]:
    """The stops with all that an event tells, in the order of their times."""
    return list(
        stops.select_related("premises", "program")
        .prefetch_related("work__assembly__connection", "work__obligation")
        .order_by("arrives_at", "uid")
    )


def stop_events(stops: Sequence[Stop]) -> list[CalendarEvent]:
    """An event for each stop. Two queries, however many stops."""
    told = last_readings(work.assembly_id for stop in stops for work in stop.work.all())
    return [_event(stop, readings=told) for stop in stops]


def kept_as_planned(stops: Sequence[Stop]) -> list[KeptEvent]:
    """The stops' events at the revision of their rows."""
    return [
        KeptEvent(event=event, sequence=stop.revision, revised_at=stop.revised_at)
        for stop, event in zip(stops, stop_events(stops), strict=True)
    ]


def last_readings(assembly_ids: Iterable[int]) -> dict[int, str]:
    """The latest judged readings of each assembly, in words: figures as they were recorded."""
    found: dict[int, str] = {}
    rows = FieldTest.objects.filter(assembly__in=set(assembly_ids)).exclude(outcome="")
    fields = ("assembly_id", "tested_on", "outcome", "unit", "initial", "final")
    for row in rows.order_by("tested_on", "id").values(*fields):
        readings = in_one_line(row["final"] or row["initial"])
        if readings:
            on = row["tested_on"]
            when = f"{on:%B} {on.day}, {on.year}, {row['outcome']}"
            found[row["assembly_id"]] = f"{when}: {readings} ({row['unit']})"
    return found


def _begins(plan: Plan) -> datetime:
    """From when promises count: the plan's first day, or before it the day it was made."""
    zone = ZoneInfo(plan.program.zone)
    first = min(plan.from_on, plan.made_at.astimezone(zone).date())
    return datetime.combine(first, time.min, zone)


def _event(stop: Stop, *, readings: Mapping[int, str]) -> CalendarEvent:
    premises = stop.premises
    return CalendarEvent(
        uid=stop.uid,
        starts=stop.arrives_at,
        ends=stop.leaves_at,
        zone=stop.program.zone,
        summary=_summary(stop),
        location=one_line(address_of(premises)),
        description=_description(stop, readings=readings),
        lat=None if premises.lat is None else float(premises.lat),
        lon=None if premises.lon is None else float(premises.lon),
        url=f"{settings.BASE_URL}{reverse('enter', args=[stop.program.code])}",
        alarm_minutes=RINGS_BEFORE_MINUTES,
        least_sequence=stop.revision,
    )


def _summary(stop: Stop) -> str:
    count = len(stop.work.all())
    tests = "1 test" if count == 1 else f"{count} tests"
    return one_line(f"{stop.premises.name or stop.premises.address}: {tests}")


def address_of(premises: Premises) -> str:
    """The address on one line: street, city, state and ZIP."""
    town = " ".join(part for part in (premises.state, premises.zip) if part)
    return ", ".join(part for part in (premises.address, premises.city, town) if part)


def _description(stop: Stop, *, readings: Mapping[int, str]) -> str:
    premises = stop.premises
    work = sorted(stop.work.all(), key=lambda one: (one.assembly.serial_key, one.pk))
    lines = [f"Account {premises.account}"] if premises.account else []
    for one in work:
        lines.append(_work_line(one))
        if told := readings.get(one.assembly_id):
            lines.append(f"Last readings of {one.assembly.serial}: {told}")
        entry = reverse("enter-assembly", args=[stop.program.code, one.assembly_id])
        lines.append(f"Enter the test: {settings.BASE_URL}{entry}")
    if premises.access_notes:
        lines.append(f"Access: {premises.access_notes}")
    if premises.notes:
        lines.append(f"Notes: {premises.notes}")
    if premises.phone:
        lines.append(f"Telephone: {premises.phone}")
    lines += cautions_for(traits_of(premises, [one.assembly for one in work]))
    return paragraphs(lines)


def _work_line(work: StopWork) -> str:
    assembly = work.assembly
    what = " ".join(part for part in (assembly.maker, assembly.model) if part)
    parts = [f"{assembly.type} {size_text(assembly.size_in)} in", what, f"serial {assembly.serial}"]
    parts.append(assembly.location)
    if work.obligation is not None:
        owed = work.obligation
        by = f"cure by {long_date(owed.cure_by)}" if owed.cure_by else ""
        parts.append(by or f"due {long_date(owed.due_on)}")
    if assembly.notes:
        parts.append(assembly.notes)
    return ", ".join(part for part in parts if part)


def traits_of(premises: Premises, assemblies: Sequence[Assembly]) -> SiteTraits:
    """What of a premises and the assemblies to be tested there calls for a caution."""
    fire = {ServiceKind.FIRE.value, ServiceKind.COMBINED.value}
    return SiteTraits(
        has_fire_line=premises.has_combined_fire
        or any(one.connection.kind in fire for one in assemblies),
        has_medical_supply=premises.has_medical_supply,
        has_vault=any(one.in_vault or speaks_of_vault(one.location) for one in assemblies),
        has_tenants=premises.has_tenants,
    )
