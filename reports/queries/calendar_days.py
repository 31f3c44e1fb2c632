"""Days on which something is due, as calendar events: of one premises, or of a whole program."""

from __future__ import annotations

from datetime import date, timedelta
from hashlib import sha256

from django.conf import settings
from django.db.models import Count, Q
from django.urls import reverse

from notices.domain.long_dates import long_date
from registry.domain.sizes import size_text
from registry.models import Assembly, Premises, Program
from reports.domain.calendar_events import CalendarEvent
from reports.domain.calendar_text import one_line, paragraphs
from reports.domain.cautions import GOVERNED_BY
from reports.models import Stop
from reports.queries.calendar_stops import address_of, with_work
from scheduling.models import Obligation

RINGS_BEFORE_MINUTES = 14 * 24 * 60
SHOWN_AHEAD = timedelta(days=400)


def premises_events(premises: Premises, *, since: date) -> list[CalendarEvent]:
    """What is due at a premises, whole days, and the visits promised to it, from a day on."""
    at_it = Q(assembly__premises=premises) | Q(connection__premises=premises) | Q(premises=premises)
    resting = Q(assembly__state__removed_on__isnull=False) | Q(
        assembly__state__idle_since__isnull=False
    )
    owed = (
        Obligation.objects.filter(at_it, program=premises.program_id, closed_on__isnull=True)
        .exclude(resting)
        .select_related("assembly", "program")
        .order_by("due_on", "id")
    )
    promised = Stop.objects.filter(
        premises=premises,
        promised_at__isnull=False,
        cancelled_at__isnull=True,
        second_of__isnull=True,
    ).filter(arrives_at__date__gte=since)
    days = [_owed(one, premises=premises) for one in owed]
    return days + [_visit(stop) for stop in with_work(promised)]


def program_events(program: Program, *, today: date) -> list[CalendarEvent]:
    """How much is due on each day ahead, and what stands open since: one query by day."""
    resting = Q(assembly__state__removed_on__isnull=False) | Q(
        assembly__state__idle_since__isnull=False
    )
    rows = (
        Obligation.objects.filter(program=program, closed_on__isnull=True)
        .filter(due_on__gte=today, due_on__lt=today + SHOWN_AHEAD)
        .exclude(resting)
        .order_by()
        .values("due_on", "kind")
        .annotate(count=Count("pk"))
    )
    by_day: dict[date, list[tuple[str, int]]] = {}
    for row in sorted(rows, key=lambda one: (one["due_on"], one["kind"])):
        by_day.setdefault(row["due_on"], []).append((row["kind"], row["count"]))
    return [_due_day(program, on, counts) for on, counts in by_day.items()]


def _owed(one: Obligation, *, premises: Premises) -> CalendarEvent:
    assembly = one.assembly
    on = one.cure_by or one.due_on
    what = "Repair and retest due" if one.cure_by else f"{work_words(one.kind)} due"
    named = "" if assembly is None else f": {_assembly(assembly)}"
    lines = [f"Due {long_date(one.due_on)}."]
    if one.cure_by:
        failed = f"Failed {long_date(one.failed_on)}. " if one.failed_on else ""
        lines = [f"{failed}To be repaired and to pass by {long_date(one.cure_by)}."]
    if assembly is not None and assembly.location:
        lines.append(f"Where: {assembly.location}")
    lines += [f"Program: {one.program.name}", GOVERNED_BY]
    return CalendarEvent(
        uid=_due_uid(one, premises=premises),
        starts=on,
        ends=on + timedelta(days=1),
        summary=one_line(f"{what}{named}"),
        location=one_line(address_of(premises)),
        description=paragraphs(lines),
        lat=None if premises.lat is None else float(premises.lat),
        lon=None if premises.lon is None else float(premises.lon),
        alarm_minutes=RINGS_BEFORE_MINUTES,
    )


def _assembly(assembly: Assembly) -> str:
    return f"{assembly.type} {size_text(assembly.size_in)} in, serial {assembly.serial}"


def _due_uid(one: Obligation, *, premises: Premises) -> str:
    """The day's name: from what identifies the obligation through every recalculation."""
    parts = [premises.program.code, premises.key, one.kind, one.origin, one.period]
    if one.assembly is not None:
        parts += [one.assembly.maker_key, one.assembly.serial_key]
    if one.connection_id is not None:
        parts.append(f"service {one.connection_id}")
    return f"due-{sha256(chr(31).join(parts).encode()).hexdigest()[:32]}@waterclerk"


def _visit(stop: Stop) -> CalendarEvent:
    work = [one.assembly for one in stop.work.all()]
    lines = [_assembly(one) for one in sorted(work, key=lambda one: one.serial_key)]
    lines.append("A test shuts the water for a while, usually 5 to 20 minutes each.")
    return CalendarEvent(
        uid=f"visit-{stop.uid}",
        starts=stop.arrives_at,
        ends=stop.leaves_at,
        zone=stop.program.zone,
        summary=one_line(f"Backflow test at {stop.premises.name or stop.premises.address}"),
        location=one_line(address_of(stop.premises)),
        description=paragraphs([*lines, GOVERNED_BY]),
        alarm_minutes=24 * 60,
        least_sequence=stop.revision,
    )


def _due_day(program: Program, on: date, counts: list[tuple[str, int]]) -> CalendarEvent:
    told = ", ".join(f"{count:,} × {work_words(kind).lower()}" for kind, count in counts)
    return CalendarEvent(
        uid=f"due-day-{program.code}-{on.isoformat()}@waterclerk",
        starts=on,
        ends=on + timedelta(days=1),
        summary=one_line(f"Due: {told}"),
        description=paragraphs([f"Program: {program.name}"]),
        url=f"{settings.BASE_URL}{reverse('registry', args=[program.code])}",
    )


def work_words(kind: str) -> str:
    """A kind of obligation in words, as the rulebook names it: "internal inspection"."""
    return "Backflow test" if kind == "test" else kind.replace("-", " ").capitalize()
