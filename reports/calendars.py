"""Testers' stops as RFC 5545 text: one event per stop, the same rows the same bytes.

The one module that knows the calendar library. A UID stays through replans, SEQUENCE is the
row's revision, DTSTAMP and LAST-MODIFIED the moment it was last revised.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet
from icalendar import Calendar, Event, vText

from registry.domain.kinds import ServiceKind
from registry.domain.sizes import size_text
from registry.models import Assembly, Premises, Program, Tester
from reports.domain.calendar_text import one_line, paragraphs
from reports.domain.cautions import SiteTraits, cautions_for, speaks_of_vault
from reports.models import Plan, Stop, StopWork

MAKER = "-//Waterclerk//Rounds 1.0//EN"


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
    latest = Plan.objects.filter(program=program).first()
    if latest is None:
        return []
    work = "work__assembly__connection"
    kept = Q(round__plan=latest) | Q(promised_at__isnull=False, arrives_at__gte=_begins(latest))
    return list(
        Stop.objects.filter(
            kept, program=program, cancelled_at__isnull=True, round__tester__in=testers
        )
        .select_related("premises", "program")
        .prefetch_related(work, "work__obligation")
        .order_by("arrives_at", "uid")
    )


def calendar_text(stops: Sequence[Stop], *, program: Program, name: str) -> str:
    """The calendar of these stops, in the program's time zone; valid when there are none."""
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", _Words(one_line(name)))
    zone = ZoneInfo(program.zone)
    for stop in stops:
        calendar.add_component(_event(stop, zone=zone))
    if stops:
        years = [stop.arrives_at.year for stop in stops]
        # The years around the events: a zone's whole history would outweigh the calendar.
        calendar.add_missing_timezones(date(min(years) - 1, 1, 1), date(max(years) + 2, 1, 1))
    return bytes(calendar.to_ical()).decode()


def _begins(plan: Plan) -> datetime:
    """From when promises count: the plan's first day, or before it the day it was made."""
    zone = ZoneInfo(plan.program.zone)
    first = min(plan.from_on, plan.made_at.astimezone(zone).date())
    return datetime.combine(first, datetime.min.time(), zone)


class _Words(vText):
    r"""Text as it stands: the library would make a line break of the two characters ``\N``."""

    __slots__ = ()

    def to_ical(self) -> bytes:
        """Escape by RFC 5545 section 3.3.11; only plain line feeds are left to be breaks."""
        escaped = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
        return escaped.replace("\n", "\\n").encode()


def _event(stop: Stop, *, zone: ZoneInfo) -> Event:
    premises = stop.premises
    revised_at = stop.revised_at.astimezone(UTC).replace(microsecond=0)
    event = Event()
    event.add("uid", one_line(stop.uid))
    event.add("sequence", stop.revision)
    event.add("dtstamp", revised_at)
    event.add("last-modified", revised_at)
    event.add("dtstart", stop.arrives_at.astimezone(zone))
    event.add("dtend", stop.leaves_at.astimezone(zone))
    event.add("summary", _Words(_summary(stop)))
    event.add("location", _Words(one_line(_address(premises))))
    event.add("description", _Words(_description(stop)))
    if premises.lat is not None and premises.lon is not None:
        event.add("geo", (float(premises.lat), float(premises.lon)))
    return event


def _summary(stop: Stop) -> str:
    count = len(stop.work.all())
    tests = "1 test" if count == 1 else f"{count} tests"
    return one_line(f"{stop.premises.name or stop.premises.address}: {tests}")


def _address(premises: Premises) -> str:
    town = " ".join(part for part in (premises.state, premises.zip) if part)
    return ", ".join(part for part in (premises.address, premises.city, town) if part)


def _description(stop: Stop) -> str:
    premises = stop.premises
    work = sorted(stop.work.all(), key=lambda one: (one.assembly.serial_key, one.pk))
    lines = [f"Account {premises.account}"] if premises.account else []
    lines += [_work_line(one) for one in work]
    if premises.access_notes:
        lines.append(f"Access: {premises.access_notes}")
    if premises.notes:
        lines.append(f"Notes: {premises.notes}")
    if premises.phone:
        lines.append(f"Telephone: {premises.phone}")
    lines += cautions_for(_traits(premises, [one.assembly for one in work]))
    return paragraphs(lines)


def _work_line(work: StopWork) -> str:
    assembly = work.assembly
    what = " ".join(part for part in (assembly.maker, assembly.model) if part)
    parts = [f"{assembly.type} {size_text(assembly.size_in)} in", what, f"serial {assembly.serial}"]
    parts.append(assembly.location)
    if work.obligation is not None:
        owed = work.obligation
        parts.append(f"cure by {owed.cure_by}" if owed.cure_by else f"due {owed.due_on}")
    if assembly.notes:
        parts.append(assembly.notes)
    return ", ".join(part for part in parts if part)


def _traits(premises: Premises, assemblies: Sequence[Assembly]) -> SiteTraits:
    fire = {ServiceKind.FIRE.value, ServiceKind.COMBINED.value}
    return SiteTraits(
        has_fire_line=premises.has_combined_fire
        or any(one.connection.kind in fire for one in assemblies),
        has_medical_supply=premises.has_medical_supply,
        has_vault=any(one.in_vault or speaks_of_vault(one.location) for one in assemblies),
        has_tenants=premises.has_tenants,
    )
