"""What the demo's office says about visits: assignments, jobs, notice, testers' days, busy hours.

All of it goes through the actions behind the pages, and a second time changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from config.demo import district
from registry.actions.assignments import assign_premises
from registry.changes import Hand
from registry.domain.assigned import HowAssigned
from registry.models import Firm, Premises, PremisesParty, Program, Tester
from reports.actions.busy import read_in
from reports.actions.jobs import CallTold, JobTold, keep_job, note_call
from reports.actions.planning_ways import keep_planning_rules, keep_working_days
from reports.models import BusyCalendar, CallMade, Job, PlanningRules
from reports.rounds.due_work import due_by_premises
from scheduling.actions.by_hand.premises import keep_premises

HOMES = "Residence"
AHEAD = timedelta(days=60)
JOBS = 10
NOTICE_DAYS = 2
"""Forty-eight hours, as the shops that ask for notice have it."""

Days = dict[str, Any]


@dataclass(frozen=True)
class WorkingDays:
    """How one tester works; the depot is a place in the invented district."""

    certificate: str
    depot: tuple[str, str]
    skills: tuple[str, ...] = ()
    hours: tuple[str, str] | None = None
    most_visits: int | None = None


NORTH, SOUTH = ("46.879000", "-118.262000"), ("46.846000", "-118.250000")
TESTERS = (
    WorkingDays("T-1000", NORTH, ("fire lines",)),
    WorkingDays("T-1001", NORTH, ("confined space",)),
    WorkingDays("T-1002", NORTH, ("fire lines",), hours=("07:00", "15:30")),
    WorkingDays("T-1003", NORTH, ("confined space",), most_visits=10),
    WorkingDays("T-1004", SOUTH, ("fire lines",)),
)
LUNCH = {"lunch_minutes": 30, "lunch_from": time(11), "lunch_to": time(13, 30)}
BUSY_TESTER, BUSY_NAME = "T-1001", "own calendar"


def say_how_visits_go(*, program: Program) -> None:
    """Say it all, where it is not said yet."""
    hand = _hand(program, of="clerk")
    _rules(program, hand)
    _working_days(program, _hand(program, of="dispatcher"))
    _notice(program, hand)
    _assign(program, hand)
    _jobs(program, hand)
    _busy(program, _hand(program, of="dispatcher"))


def _hand(program: Program, *, of: str) -> Hand:
    noon = datetime.combine(district.AS_OF, time(12), tzinfo=ZoneInfo(program.zone))
    who = next(login for login in district.LOGINS if login.username == of)
    return Hand(by=f"{who.first_name} {who.last_name}", at=noon)


def _rules(program: Program, hand: Hand) -> None:
    """Some homes order for themselves: what nobody assigned or asked for is not planned."""
    if not PlanningRules.objects.filter(program=program).exists():
        keep_planning_rules(program=program, values={"due_is_assigned": False}, hand=hand)


def _working_days(program: Program, hand: Hand) -> None:
    for one in TESTERS:
        tester = Tester.objects.filter(certificate=one.certificate, depot_lat__isnull=True).first()
        if tester is None:
            continue
        values: Days = {
            "depot_lat": Decimal(one.depot[0]),
            "depot_lon": Decimal(one.depot[1]),
            "skills": list(one.skills),
            "most_visits": one.most_visits,
        }
        if one.hours:
            values["hours"] = {str(day): [list(one.hours)] for day in range(5)}
        keep_working_days(whose=tester, values=values, program=program, hand=hand)
    company = Firm.objects.get(name=district.TESTING_COMPANY)
    if company.lunch_minutes is None:
        keep_working_days(whose=company, values=LUNCH, program=program, hand=hand)


def _notice(program: Program, hand: Hand) -> None:
    """Who names somebody to tell before a shutdown also asks for two days' notice."""
    asking = Premises.objects.filter(program=program, notice_days=0).exclude(shutdown_tell="")
    for site in asking.order_by("pk"):
        values = {
            **{name: getattr(site, name) for name in ("account", "address", "city")},
            "notice_days": NOTICE_DAYS,
            "access_notes": f"Ring for {site.shutdown_tell} on arrival.",
        }
        if site.use == "Dental clinic":
            values["open_hours"] = {str(day): [["07:30", "12:30"]] for day in range(5)}
        keep_premises(program=program, premises=site, values=values, hand=hand)


def _assign(program: Program, hand: Hand) -> None:
    """All but some homes go to the two companies, the south to the smaller one."""
    free = (
        Premises.objects.filter(program=program)
        .exclude(use=HOMES, phone__gt="")
        .exclude(assignments__ended_on__isnull=True, assignments__how__gt="")
    )
    south = free.filter(lat__lt=Decimal("46.845"))
    for name, some in (
        (district.SECOND_COMPANY, south),
        (district.TESTING_COMPANY, free.exclude(pk__in=south)),
    ):
        assign_premises(
            program=program,
            firm=Firm.objects.get(name=name),
            premises=list(some.values_list("pk", flat=True)),
            how=HowAssigned.HAND,
            on=district.AS_OF,
            hand=hand,
        )


def _jobs(program: Program, hand: Hand) -> None:
    """Ten homes asked; three asked to be rung later, one said no; the others are to be called."""
    if Job.objects.filter(program=program).exists():
        return
    homes = _homes_with_work(program)[: JOBS + 4]
    last = district.AS_OF + AHEAD
    due = due_by_premises(program=program, last_day=last)
    for number, site in enumerate(homes[:JOBS]):
        told = JobTold(
            asked_by=_owner(site),
            asked_on=district.AS_OF - timedelta(days=number % 5),
            covers_until=last,
            bill_to="" if number % 3 else "Calico Ridge HOA, PO Box 15, Tamarack Flats",
            repair_up_to=None if number % 4 == 3 else Decimal(150 + 50 * (number % 3)),
            firm=Firm.objects.get(name=district.TESTING_COMPANY) if number % 2 else None,
            notes="Dog in the yard: ring first." if number == 2 else "",
        )
        keep_job(premises=site, told=told, hand=hand)
    for number, site in enumerate(homes[JOBS:]):
        says_no = number == 0
        note_call(
            premises=site,
            told=CallTold(
                outcome=CallMade.NO if says_no else CallMade.AGAIN,
                words="Has a tester of their own." if says_no else "Asked to be rung next week.",
                again_on=None if says_no else district.WEEK_FROM + timedelta(days=number),
            ),
            due_on=max(one.cure_by or one.due_on for one in due[site.pk]),
            today=district.AS_OF,
            hand=hand,
        )


def _homes_with_work(program: Program) -> list[Premises]:
    """The homes with a telephone, the one that has waited longest first."""
    due = due_by_premises(program=program, last_day=district.WEEK_FROM + timedelta(days=4))
    homes = Premises.objects.filter(program=program, use=HOMES, pk__in=list(due))
    return sorted(
        homes.exclude(phone=""),
        key=lambda one: (min(work.cure_by or work.due_on for work in due[one.pk]), one.pk),
    )


def _owner(site: Premises) -> str:
    role = PremisesParty.objects.filter(premises=site, until_on__isnull=True).first()
    return str(role.party) if role else str(site)


def _busy(program: Program, hand: Hand) -> None:
    tester = Tester.objects.get(certificate=BUSY_TESTER)
    if not BusyCalendar.objects.filter(tester=tester, name=BUSY_NAME).exists():
        read_in(
            tester,
            name=BUSY_NAME,
            content=district.BUSY.read_bytes(),
            program=program,
            today=district.AS_OF,
            hand=hand,
        )
