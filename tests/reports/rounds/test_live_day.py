"""A day under way: what was done stays, what failed comes again, the rest begins from now on."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry.changes import Hand
from registry.domain.kinds import Role
from registry.models import Firm, Membership
from reports.domain.live_day import VisitOutcome
from reports.models import Stop, VisitTold
from reports.rounds.changing import (
    Changer,
    ChangeRefusedError,
    move_stop,
    promise_slot,
    slots_for,
)
from reports.rounds.live import say_outcome
from reports.rounds.planning import Wish, ask, plan_rounds
from reports.rounds.promising import promise_all
from reports.rounds.proposed import moves_of
from reports.rounds.week import Horizon
from scheduling.models import Obligation
from scheduling.solver import Effort, solve
from tests.reports.rounds.office import TODAY, Office
from tests.reports.rounds.test_changing import driver_of
from tests.reports.rounds.walking import words_of

pytestmark = pytest.mark.django_db

LA = ZoneInfo("America/Los_Angeles")
TOMORROW = date(2026, 11, 26)
MORNING = datetime(2026, 11, 25, 7, tzinfo=LA)
ELEVEN = datetime(2026, 11, 25, 11, tzinfo=LA)


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    # 24 visits of half an hour and the way: more than one day holds, so that today is needed.
    office.town(visits=24)
    plan(office, now=MORNING)
    return office


def plan(office: Office, *, now: datetime) -> None:
    wish = Wish(TODAY, 2, TODAY, Effort(iterations=150, seed=1), now)
    planned = plan_rounds(program=office.program, wish=wish, hand=Hand(by="Dana", at=now))
    assert planned.solved.is_feasible


def changer(office: Office, *, at: datetime = ELEVEN) -> Changer:
    horizon = Horizon(TODAY, 2, LA, TODAY)
    return Changer(office.program, horizon, Hand(by="Dana", at=at))


def today() -> list[Stop]:
    first = datetime.combine(TODAY, time(0), tzinfo=LA)
    found = Stop.objects.filter(
        cancelled_at=None, arrives_at__gte=first, arrives_at__lt=first + timedelta(days=1)
    )
    return list(found.select_related("round").order_by("arrives_at"))


def before_eleven() -> list[Stop]:
    return [stop for stop in today() if stop.leaves_at <= ELEVEN]


def say(office: Office, stop: Stop, outcome: VisitOutcome, words: str = "") -> VisitTold:
    return say_outcome(changer(office), stop, outcome=outcome, words=words, seen=stop.revision)


def test_what_was_done_stays_and_nothing_new_is_planned_before_now(office: Office) -> None:
    done = before_eleven()
    assert len(done) >= 4
    for stop in done:
        say(office, stop, VisitOutcome.DONE)
    kept = [(stop.pk, stop.arrives_at, stop.leaves_at) for stop in done]
    plan(office, now=ELEVEN)
    again = {stop.pk: stop for stop in Stop.objects.filter(cancelled_at=None)}
    assert [(pk, again[pk].arrives_at, again[pk].leaves_at) for pk, _at, _to in kept] == kept
    rest = [stop for stop in today() if stop.pk not in {pk for pk, _at, _to in kept}]
    assert rest
    assert all(stop.arrives_at >= ELEVEN for stop in rest)


def test_nobody_there_and_no_access_come_again_on_another_day(office: Office) -> None:
    first, second, third, *_rest = before_eleven()
    say(office, first, VisitOutcome.DONE)
    say(office, second, VisitOutcome.NOBODY, "waited ten minutes")
    say(office, third, VisitOutcome.NO_ACCESS, "dog in the yard")
    plan(office, now=ELEVEN)
    assert first.pk in {stop.pk for stop in today()}
    for stop in (second, third):
        stop.refresh_from_db()
        moved = stop.arrives_at.astimezone(LA).date()
        assert stop.cancelled_at is not None or moved == TOMORROW
        assert stop.promised_at is None
    # What was said stays as it was said, wherever the visit is planned now.
    row = VisitTold.objects.get(stop=third)
    assert (row.on, row.outcome, row.words, row.by) == (
        TODAY,
        "no access",
        "dog in the yard",
        "Dana",
    )


def test_done_on_an_earlier_day_is_not_visited_again_until_a_report_says_it_failed(
    office: Office,
) -> None:
    first, second, *_rest = before_eleven()
    say(office, first, VisitOutcome.DONE)
    say(office, second, VisitOutcome.DONE)
    Obligation.objects.filter(stop_work__stop=second).update(failed_on=TODAY)
    wish = Wish(TOMORROW, 3, TOMORROW, Effort(iterations=150, seed=1))
    plan_rounds(program=office.program, wish=wish, hand=Hand(by="Dana", at=ELEVEN))
    days = {
        stop.premises_id: stop.arrives_at.astimezone(LA).date()
        for stop in Stop.objects.filter(cancelled_at=None)
    }
    assert days[first.premises_id] == TODAY
    assert days[second.premises_id] >= TOMORROW
    # A month on nobody has sent the report: the work counts as due again.
    late = TODAY + timedelta(days=31)
    wish = Wish(late, 3, late, Effort(iterations=50, seed=1))
    plan_rounds(program=office.program, wish=wish, hand=Hand(by="Dana", at=ELEVEN))
    again = Stop.objects.filter(premises=first.premises_id, cancelled_at=None)
    assert again.get().arrives_at.astimezone(LA).date() >= late


def test_promises_of_the_rest_of_the_day_stand(office: Office) -> None:
    promise_all(changer(office, at=MORNING), today(), words="promised")
    promised = {stop.pk: stop.arrives_at for stop in today()}
    for stop in before_eleven()[:3]:
        say(office, stop, VisitOutcome.DONE)
    gone = before_eleven()[3]
    say(office, gone, VisitOutcome.NOBODY)
    plan(office, now=ELEVEN)
    now = {stop.pk: stop.arrives_at for stop in Stop.objects.filter(cancelled_at=None)}
    for pk, arrives_at in promised.items():
        if pk != gone.pk:
            assert now[pk] == arrives_at


def test_an_urgent_visit_is_offered_from_now_on_and_moves_no_promise(office: Office) -> None:
    new = office.premises(name="Cooper Laundry", lat=46.82, lon=-118.25)
    office.due(new)
    urgent = replace(changer(office), now=ELEVEN)
    slots, planned = slots_for(urgent, new)
    moment_of = planned.horizon.axis.moment_of
    assert slots
    assert all(moment_of(slot.arrive) >= ELEVEN for slot in slots)
    first = min(slots, key=lambda one: one.arrive)
    promise_slot(
        urgent, new, tester_id=int(first.day.tester), on=first.day.day, arrive=first.arrive
    )
    stop = Stop.objects.get(premises=new)
    assert stop.arrives_at == moment_of(first.arrive)
    assert stop.promised_at is not None


def test_a_later_word_replaces_an_earlier_one_of_the_same_day(office: Office) -> None:
    first, *_rest = before_eleven()
    say(office, first, VisitOutcome.NOBODY)
    first.refresh_from_db()
    say(office, first, VisitOutcome.DONE, "came back at ten")
    assert VisitTold.objects.get().outcome == "done"
    first.refresh_from_db()
    assert first.is_fixed


def test_nothing_is_said_of_a_day_that_has_not_come_or_of_a_visit_that_changed(
    office: Office,
) -> None:
    ahead = Stop.objects.filter(round__on=TOMORROW)[0]
    with pytest.raises(ChangeRefusedError, match="has not come"):
        say(office, ahead, VisitOutcome.DONE)
    first = today()[0]
    with pytest.raises(ChangeRefusedError, match="changed since"):
        say_outcome(changer(office), first, outcome=VisitOutcome.DONE, words="", seen=99)
    Stop.objects.filter(pk=first.pk).update(cancelled_at=datetime(2026, 11, 25, 15, tzinfo=UTC))
    with pytest.raises(ChangeRefusedError):
        say(office, first, VisitOutcome.DONE)
    assert not VisitTold.objects.exists()


NOON = datetime(2026, 11, 25, 12, tzinfo=LA)
"""A trial's moment of today."""


def rest_page(role: Role, **seat: Any) -> str:
    """What the page that plans the rest of the day says to somebody."""
    person = get_user_model().objects.create_user(f"{role}")
    Membership.objects.create(user_id=person.pk, role=role, **seat)
    client = Client()
    client.force_login(person)
    return words_of(client.get("/p/flats/rounds/plan/?now=yes"))


def test_who_plans_the_rest_is_told_of_rounds_nobody_said_a_word_about(office: Office) -> None:
    begun = [stop for stop in today() if stop.arrives_at < NOON]
    say(office, begun[0], VisitOutcome.DONE)
    say(office, begun[1], VisitOutcome.NO_ACCESS)
    promise_all(changer(office), [Stop.objects.get(pk=begun[2].pk)], words="one")
    page = rest_page(Role.ADMINISTRATOR, program=office.program)
    assert "From 12:00 pm on." in page
    assert f"Tester T-1 : {len(begun) - 3} visits" in page
    for stop in begun[3:]:
        say(office, stop, VisitOutcome.DONE)
    firm = Firm.objects.get()
    said = rest_page(Role.DISPATCHER, firm=firm)
    assert "From 12:00 pm on." in said
    assert "nobody said what became of them" not in said


def test_of_another_companys_rounds_a_dispatcher_is_told_nothing(office: Office) -> None:
    office.tester("T-2", firm="Larkwater Testing")
    firm = Firm.objects.get(name="Larkwater Testing")
    page = rest_page(Role.DISPATCHER, firm=firm)
    assert "From 12:00 pm on." in page
    assert "T-1" not in page


def why_dropped(office: Office) -> dict[int, str]:
    """Why visits that stand today are not in a plan of the rest of today."""
    wish = Wish(TODAY, 1, TODAY, Effort(iterations=20, seed=1), NOON, stay_minutes=10)
    asked = ask(program=office.program, wish=wish)
    moves = moves_of(solve(asked.week.problem, effort=wish.effort).plan, asked)
    assert {one.why_not for one in moves if one.now} == {""}
    return {one.premises.pk: one.why_not for one in moves if one.was and not one.now}


def test_why_a_visit_is_not_planned_any_more_stands_in_the_list(office: Office) -> None:
    # Nine visits and more of half an hour stand today, and from noon eight of them fit.
    assert len(today()) >= 9
    assert set(why_dropped(office).values()) == {"not enough hours"}
    gone = today()[-1].premises
    Obligation.objects.filter(assembly__premises=gone).update(closed_on=TODAY)
    why = why_dropped(office)
    assert why.pop(gone.pk) == "nothing is due there now"
    assert set(why.values()) <= {"not enough hours"}


def test_of_urgent_times_the_soonest_days_come_first(office: Office) -> None:
    # Next door to the one visit of tomorrow: coming then adds no driving, and today it does.
    first, *others = Stop.objects.filter(round__on=TOMORROW)
    Stop.objects.filter(pk__in=[one.pk for one in others]).update(cancelled_at=ELEVEN)
    # And there is room today.
    Stop.objects.filter(round__on=TODAY, arrives_at__gte=NOON).update(cancelled_at=ELEVEN)
    there = first.premises
    assert there.lat is not None
    assert there.lon is not None
    new = office.premises(name="Cooper Laundry", lat=float(there.lat), lon=float(there.lon))
    office.due(new)
    horizon = replace(changer(office).horizon, days=5)
    urgent = replace(changer(office), now=ELEVEN, horizon=horizon)
    days = [slot.day.day for slot in slots_for(urgent, new)[0]]
    assert days[0] == TODAY
    assert days == sorted(days)
    usual, _planned = slots_for(replace(urgent, now=None), new)
    assert (usual[0].day.day, usual[0].extra_minutes) == (TOMORROW, 0)


def test_a_change_of_a_day_under_way_draws_nothing_into_the_hours_gone_by(office: Office) -> None:
    done = before_eleven()
    for stop in done[:-1]:
        say(office, stop, VisitOutcome.DONE)
    say(office, done[-1], VisitOutcome.NOBODY)
    plan(office, now=ELEVEN)
    *ahead, last, late = [stop for stop in today() if stop.arrives_at >= ELEVEN]
    assert len(ahead) > 2
    Stop.objects.filter(pk__in=[last.pk, late.pk]).update(cancelled_at=ELEVEN)
    move_stop(
        changer(office), ahead[0], tester_id=driver_of(ahead[0]), on=TOMORROW, place=1,
        seen=ahead[0].revision,
    )  # fmt: skip
    rest = {stop.pk: stop.arrives_at for stop in today()}
    assert ahead[0].pk not in rest
    assert min(rest[stop.pk] for stop in ahead[1:]) >= ELEVEN
    new = office.premises(name="Cooper Laundry", lat=46.82, lon=-118.25)
    office.due(new)
    urgent = replace(changer(office), now=ELEVEN + timedelta(minutes=15))
    slot = slots_for(urgent, new)[0][0]
    assert slot.day.day == TODAY
    promise_slot(urgent, new, tester_id=int(slot.day.tester), on=TODAY, arrive=slot.arrive)
    rest = {stop.pk: stop.arrives_at for stop in today()}
    assert min(rest[stop.pk] for stop in ahead[1:]) >= ELEVEN
    for stop in done[:-1]:
        assert rest[stop.pk] == stop.arrives_at
