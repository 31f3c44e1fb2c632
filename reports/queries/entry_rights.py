"""Who may enter a field test, and what of a program they are shown for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from registry.access import Verb, firms_of, memberships_of, visible_assemblies
from registry.domain.kinds import UNTESTED_TYPES, Role
from registry.models import (
    Approval,
    Assembly,
    Calibration,
    Certification,
    Gauge,
    Membership,
    Tester,
)
from reports.models import FieldEntry, Stop
from reports.queries.lapsing import Lapse, lapsing_of
from scheduling.views.desk import Desk, Seat

MOST_SHOWN = 200


@dataclass(frozen=True, kw_only=True)
class KnownGauge:
    """A gauge of the testing company, and its latest calibration on the program's record."""

    serial: str
    calibrated_on: date | None


def may_enter(desk: Desk) -> bool:
    """An office clerk for anybody; a tester of a company the program accepts on the day."""
    if desk.seat is Seat.OFFICE:
        return Verb.ENTER_TEST in desk.verbs
    return desk.seat is Seat.FIRM and _membership(desk) is not None


def _membership(desk: Desk) -> Membership | None:
    accepted = Approval.objects.filter(
        program=desk.program, tester__isnull=True, gauge__isnull=True, valid_from__lte=desk.today
    ).filter(Q(valid_to__isnull=True) | Q(valid_to__gte=desk.today))
    mine = memberships_of(desk.person).filter(role=Role.TESTER)
    return (
        mine.filter(Q(firm__in=accepted.values("firm")) | Q(firm__own_program=desk.program))
        .select_related("tester", "firm")
        .first()
    )


def tester_of(desk: Desk) -> Tester | None:
    """The tester a person is; None for an office clerk, who keys for anybody."""
    if desk.seat is not Seat.FIRM:
        return None
    membership = _membership(desk)
    return membership.tester if membership else None


def certificate_end(tester: Tester, *, desk: Desk) -> date | None:
    """The last day of the tester's certificate on the program's record."""
    terms = Certification.objects.filter(tester=tester, program=desk.program)
    latest = terms.order_by("-valid_to").first()
    return latest.valid_to if latest else None


def gauges_of(desk: Desk) -> list[KnownGauge]:
    """The gauges of a tester's company with their latest calibration; none for the office."""
    membership = _membership(desk) if desk.seat is Seat.FIRM else None
    if membership is None:
        return []
    gauges = Gauge.objects.filter(firm=membership.firm).order_by("serial")
    latest: dict[int, date] = {}
    rows = Calibration.objects.filter(gauge__in=gauges, program=desk.program)
    for row in rows.order_by("calibrated_on"):
        latest[row.gauge_id] = row.calibrated_on
    return [KnownGauge(serial=one.serial, calibrated_on=latest.get(one.pk)) for one in gauges]


def own_lapses(desk: Desk) -> list[Lapse]:
    """What of the person's testing company lapses within thirty days, or just did."""
    return lapsing_of(desk.program, today=desk.today, firms=firms_of(desk.person))


def assemblies_to_test(desk: Desk) -> QuerySet[Assembly]:
    """The assemblies a person may enter a test for: those in sight that have a field test."""
    return (
        visible_assemblies(desk.person)
        .filter(program=desk.program)
        .exclude(type__in=[one.value for one in UNTESTED_TYPES])
        .select_related("premises", "connection", "state")
    )


def stops_today(desk: Desk) -> list[Stop]:
    """The stops of a tester's day in order, each with its assemblies; none for the office."""
    tester = tester_of(desk)
    if tester is None:
        return []
    stops = Stop.objects.filter(
        program=desk.program, round__tester=tester, round__on=desk.today, cancelled_at__isnull=True
    )
    return list(
        stops.select_related("premises")
        .prefetch_related("work__assembly")
        .order_by("arrives_at", "pk")
    )


def entries_seen(desk: Desk) -> QuerySet[FieldEntry]:
    """What was handed in: for the office all of it, for a tester their own."""
    found = FieldEntry.objects.filter(program=desk.program)
    if desk.seat is not Seat.OFFICE:
        found = found.filter(person_id=desk.person.pk)
    return found.select_related("field_test", "assembly__premises")
