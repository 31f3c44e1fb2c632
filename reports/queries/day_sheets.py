"""A round read as the sheet a tester takes along."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.urls import reverse

from registry.domain.sizes import size_text
from registry.models import Assembly
from registry.templatetags.wording import clock, in_prose, long_day, minutes
from reports.domain.bringing import USUAL_CONFIDENCE, bring_list, spoken_list
from reports.domain.cautions import GOVERNED_BY, PERMISSION, PRESSURE, cautions_for
from reports.domain.day_sheets import DaySheet, SheetStop
from reports.models import Round, Stop, StopWork
from reports.queries.bringing import counted_tests, needs_of
from reports.queries.calendar_stops import address_of, last_readings, traits_of
from reports.queries.round_pages import stops_of
from reports.rounds.needs import people_needed, shutdown_words
from reports.rounds.roads import attribution, travel_words

FOR_EVERY_STOP = (PERMISSION, PRESSURE, GOVERNED_BY)


def day_sheet(one: Round) -> DaySheet:
    """The sheet of a round with its tester, firm and plan selected. Two queries for each type."""
    zone = ZoneInfo(one.plan.program.zone)
    stops = stops_of(one)
    readings = last_readings(work.assembly_id for stop in stops for work in stop.work.all())
    starts, ends = one.starts_at.astimezone(zone), one.ends_at.astimezone(zone)
    count = f"{len(stops)} stop{'' if len(stops) == 1 else 's'}"
    driven = f"work {minutes(one.work_minutes)}, driving {minutes(one.drive_minutes)}"
    return DaySheet(
        firm=one.firm.name,
        phone=one.firm.phone,
        program=one.plan.program.name,
        tester=one.tester.name or one.tester.certificate,
        day=long_day(one.on),
        under=f"{clock(starts)} to {clock(ends)}{_lunch(one, zone)}. {count}, {driven}.",
        depot=(float(one.depot_lat), float(one.depot_lon)),
        stops=tuple(
            _stop(stop, number=number, zone=zone, readings=readings)
            for number, stop in enumerate(stops, start=1)
        ),
        cautions=FOR_EVERY_STOP,
        bring=_bring(one, stops),
        travel=". ".join(filter(None, [travel_words(one.plan), attribution(one.plan.travel_how)])),
        entry_link=f"{settings.BASE_URL}{reverse('enter', args=[one.plan.program.code])}",
    )


def _bring(one: Round, stops: Sequence[Stop]) -> tuple[str, ...]:
    """The gauge first; then kits, seats and fittings, enough at the usual confidence."""
    ids = {work.assembly_id for stop in stops for work in stop.work.all()}
    assemblies = list(Assembly.objects.filter(pk__in=ids).select_related("state").order_by("pk"))
    tests = counted_tests(assemblies)
    needs = needs_of(assemblies, tests=tests, program=one.plan.program, on=one.on)
    lines = bring_list(list(needs.values()), confidence=USUAL_CONFIDENCE / 100)
    return spoken_list(lines)


def _lunch(one: Round, zone: ZoneInfo) -> str:
    if one.lunch_from is None or one.lunch_to is None:
        return ""
    return f", lunch {_at(one.lunch_from, zone)} to {_at(one.lunch_to, zone)}"


def _stop(stop: Stop, *, number: int, zone: ZoneInfo, readings: dict[int, str]) -> SheetStop:
    premises = stop.premises
    work = list(stop.work.all())
    particular = [
        words
        for words in cautions_for(traits_of(premises, [one.assembly for one in work]))
        if words not in FOR_EVERY_STOP
    ]
    people = [f"Telephone {premises.phone}"] if premises.phone else []
    if premises.access_notes:
        people.append(premises.access_notes)
    assemblies = [one.assembly for one in work]
    people += shutdown_words(premises, assemblies)
    if stop.second_of_id is not None:
        people.append("You are the second person here: a permit space takes two at once")
    elif people_needed(assemblies) > 1:
        people.append("Two people at once: a permit space is not entered alone")
    if premises.lat is None:
        people.append("Placed by its ZIP code: find the address first")
    named = premises.name or premises.address
    return SheetStop(
        number=number,
        times=f"{_at(stop.arrives_at, zone)} to {_at(stop.leaves_at, zone)}",
        is_fixed=stop.is_fixed,
        place=(named, address_of(premises)) if premises.name else (address_of(premises),),
        people=tuple(people),
        work=tuple(_work(work, readings)),
        cautions=tuple(particular),
        lat=None if premises.lat is None else float(premises.lat),
        lon=None if premises.lon is None else float(premises.lon),
    )


def _work(work: Sequence[StopWork], readings: dict[int, str]) -> list[str]:
    lines = []
    for one in work:
        due = one.obligation.cure_by or one.obligation.due_on if one.obligation else None
        told = f", due {long_day(due)}" if due else ""
        lines.append(f"{_assembly(one.assembly)}{told}")
        if last := readings.get(one.assembly_id):
            lines.append(f"last: {in_prose(last)}")
    return lines


def _assembly(assembly: Assembly) -> str:
    what = f"{assembly.type} {size_text(assembly.size_in)} in, serial {assembly.serial}"
    return ", ".join(part for part in (what, assembly.maker, assembly.location) if part)


def _at(moment: datetime, zone: ZoneInfo) -> str:
    return str(clock(moment.astimezone(zone)))
