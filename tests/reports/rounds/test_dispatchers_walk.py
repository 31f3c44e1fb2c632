"""One sitting of a dispatcher, from what is due next month to calendars on five phones.

They change their mind twice, and nothing promised is lost: what each customer heard by e-mail, what
each phone shows, and what stands, agree at the end. Mail goes over real SMTP; invitations and feeds
are read by icalendar, feeds by recurring-ical-events besides (RFC 5545, RFC 5546).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import recurring_ical_events
import time_machine

from registry import models as rows
from registry.models import Assignment, Premises
from reports.domain.live_day import VisitOutcome
from reports.models import AppointmentTold, CallMade, Job, PlanningRules, Stop
from scheduling import background
from tests.notices.delivery.posts import Sink, mail_server
from tests.reports.rounds.office import NOON, Office
from tests.reports.rounds.walking import BASE, Dispatcher, moments, owned, standing

pytestmark = [pytest.mark.django_db, pytest.mark.database]

LA = ZoneInfo("America/Los_Angeles")
WEDNESDAY = datetime(2026, 11, 25, 9, tzinfo=LA)
SUNDAY = datetime(2026, 12, 6, 15, tzinfo=LA)
TUESDAY = datetime(2026, 12, 8, 11, tzinfo=LA)
WEEK = date(2026, 12, 7)
CERTIFICATES = tuple(f"T-{number}" for number in range(1, 6))


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search ends within the request: a thread would not see what a test wrote."""
    monkeypatch.setattr(background, "begin", lambda work, wait_seconds: work())


@pytest.fixture
def dispatcher() -> Iterator[Dispatcher]:
    """Five testers of two companies; thirty premises with work due in December."""
    office = Office()
    for number, certificate in enumerate(CERTIFICATES):
        firm = "Stillbrook Testing" if number < 3 else "Quill Backflow"
        where = {"depot_lat": "46.80", "depot_lon": "-118.25"}
        office.tester(certificate, firm=firm, most_visits=3, lunch_minutes=30, **where)
    office.program.is_trial = False
    office.program.go_live_on = date(2026, 1, 1)
    office.program.letterhead = {"name": "Tamarack Flats Water", "phone": "509 555 0100"}
    office.program.save()
    PlanningRules.objects.create(
        program=office.program, due_is_assigned=False, changed_at=NOON, by="x"
    )
    for number, work in enumerate(office.town(visits=30, period="2026-12-15")):
        site = work.its_assembly.premises
        # Two have no e-mail address: they are written to, or rung.
        owned(office, site, email=f"owner{number}@example.org" if number > 1 else "")
    sink = Sink()
    with time_machine.travel(WEDNESDAY, tick=False) as clock, mail_server(sink):
        yield Dispatcher(office, sink, clock)


def premises() -> list[Premises]:
    return list(Premises.objects.order_by("pk"))


def assigned(walk: Dispatcher) -> None:
    """What is due next month is looked at; all but four are assigned to two companies."""
    page = walk.look(f"{BASE}assign/")
    assert "Premises 1 " in page
    assert "Dec 15" in page
    first, rest = premises()[:16], premises()[16:26]
    for name, some in (("Stillbrook Testing", first), ("Quill Backflow", rest)):
        firm = rows.Tester.objects.filter(firm__name=name)[0].firm_id
        said = walk.act(f"{BASE}assign/", premises=[one.pk for one in some], firm=firm, act="give")
        assert f"Assigned to {name}: {len(some)} more premises." in said
    assert Assignment.objects.filter(ended_on=None).count() == 26


def called(walk: Dispatcher) -> None:
    """The four that nobody assigned are on the call list; two ask for it, one does not want it."""
    *_others, one, two, three, four = premises()
    page = walk.look(f"{BASE}calls/")
    assert all(site.name in page for site in (one, two, three, four))
    assert f"{premises()[0].name} " not in page
    for site in (one, two):
        walk.act(f"{BASE}calls/{site.pk}/", outcome=CallMade.ORDERED, words="gladly")
        asked = {"asked_by": "the owner", "asked_on": "2026-11-25", "repair_up_to": "250"}
        said = walk.act(f"{BASE}jobs/new/{site.pk}/", **asked, covers_until="2026-12-31")
        assert "The job is kept" in said
    walk.act(f"{BASE}calls/{three.pk}/", outcome=CallMade.NO, words="sells the house")
    walk.act(f"{BASE}calls/{four.pk}/", outcome=CallMade.AGAIN, again_on="2026-11-30", words="")
    assert Job.objects.count() == 2


def planned(walk: Dispatcher) -> None:
    page, token = walk.plan(WEEK, days=2)
    assert "28 visits of 28 planned" in page
    assert "No visit that stands today moves." in page
    assert not standing()
    walk.keep(token)
    never = premises()[-2:]
    assert not Stop.objects.filter(premises__in=never).exists()


def promised_and_told(walk: Dispatcher) -> None:
    assert "Tell the customers next." in walk.act(f"{BASE}promise/")
    assert "28 written to." in walk.tell_everybody()
    said = walk.post(now=WEDNESDAY)
    assert {(method, event["SEQUENCE"]) for method, event in said} == {("REQUEST", 0)}
    assert len(said) == len([stop for stop in standing().values() if email_of(stop)])


def whose(stop: Stop) -> rows.Tester:
    assert stop.round is not None
    return stop.round.tester


def who(stop: Stop) -> str:
    return whose(stop).certificate


def email_of(stop: Stop) -> str:
    return str(stop.premises.roles.get().party.email)


def phones_agree(walk: Dispatcher) -> dict[str, dict[str, Any]]:
    """Five phones show what stands, by two libraries; what each shows, by UID."""
    seen: dict[str, dict[str, Any]] = {}
    for certificate in CERTIFICATES:
        calendar = walk.feed(certificate)
        mine = {s.uid: s for s in standing().values() if who(s) == certificate}
        shown = {str(event["UID"]): event for event in calendar.walk("VEVENT")}
        live = {uid: one for uid, one in shown.items() if one.get("STATUS") != "CANCELLED"}
        stands = {uid: (stop.arrives_at, stop.leaves_at) for uid, stop in mine.items()}
        assert {uid: moments(event) for uid, event in live.items()} == stands
        again = recurring_ical_events.of(calendar).between(WEEK, WEEK + timedelta(days=7))
        second = {str(event["UID"]): moments(event) for event in again}
        assert {uid: second[uid] for uid in live} == stands
        seen[certificate] = shown
    return seen


def customers_agree(walk: Dispatcher) -> None:
    """Nothing promised is lost: each customer's calendar and the last word hold what stands."""
    for stop in standing().values():
        if stop.promised_at is None:
            continue
        last = AppointmentTold.objects.filter(stop=stop).order_by("sequence").last()
        assert last is not None, stop
        assert (last.starts_at, last.ends_at) == (stop.arrives_at, stop.leaves_at), stop
        if email_of(stop):
            event = walk.heard[f"visit-{stop.uid}"]
            assert event["STATUS"] == "CONFIRMED"
            assert moments(event) == (stop.arrives_at, stop.leaves_at)
    gone = Stop.objects.exclude(cancelled_at=None)
    for stop in gone:
        assert walk.heard[f"visit-{stop.uid}"]["STATUS"] == "CANCELLED"


def moved(walk: Dispatcher, stop: Stop, *, certificate: str, on: date) -> str:
    tester = rows.Tester.objects.get(certificate=certificate)
    day = f"{tester.pk}/{on.isoformat()}"
    sent = {"act": "move", "day": day, "place": "1", "revision": stop.revision}
    return walk.act(f"{BASE}stops/{stop.pk}/", **sent)


def test_one_sitting_from_what_is_due_to_five_phones(dispatcher: Dispatcher) -> None:
    walk = dispatcher
    assigned(walk)
    called(walk)
    planned(walk)
    promised_and_told(walk)
    for tester in rows.Tester.objects.order_by("certificate"):
        walk.subscribe(tester)
    first_seen = phones_agree(walk)
    customers_agree(walk)

    # A change of mind, in good time: one visit goes to another day, one to another tester, and
    # one is called off.
    ordered = sorted(standing().values(), key=lambda one: (one.arrives_at, one.pk))
    written = [stop for stop in ordered if email_of(stop)]
    ahead, over, off = written[0], written[1], written[2]
    moved(walk, ahead, certificate=who(ahead), on=WEEK + timedelta(days=3))
    free = next(one for one in CERTIFICATES if one != who(over))
    over.refresh_from_db()
    moved(walk, over, certificate=free, on=WEEK + timedelta(days=3))
    off.refresh_from_db()
    why = {"act": "call off", "reason": "flooded vault", "revision": off.revision}
    walk.act(f"{BASE}stops/{off.pk}/", **why)
    walk.tell_everybody()
    told = {
        str(event["UID"]): (method, event["SEQUENCE"]) for method, event in walk.post(now=WEDNESDAY)
    }
    assert told[f"visit-{ahead.uid}"] == ("REQUEST", 1)
    assert told[f"visit-{over.uid}"] == ("REQUEST", 1)
    assert told[f"visit-{off.uid}"] == ("CANCEL", 1)
    shown = phones_agree(walk)
    customers_agree(walk)
    owner = who(off)
    assert shown[owner][off.uid]["STATUS"] == "CANCELLED"
    assert shown[owner][off.uid]["SEQUENCE"] > first_seen[owner][off.uid]["SEQUENCE"]
    assert shown[who(over)][over.uid]["STATUS"] == "CANCELLED"
    assert shown[free][over.uid].get("STATUS") != "CANCELLED"

    # The rest planned anew moves nothing that was told.
    stood = {pk: (stop.arrives_at, whose(stop).pk) for pk, stop in standing().items()}
    page, token = walk.plan(WEEK, days=4)
    assert "0 to another day or tester, 0 to another hour of their day, 0 not planned" in page
    walk.keep(token)
    kept = standing()
    assert {pk: (kept[pk].arrives_at, whose(kept[pk]).pk) for pk in stood} == stood
    customers_agree(walk)

    # The mind changes again, on the eve: within 48 hours it is also a call.
    walk.goes_to(SUNDAY)
    mine = [one for one in standing().values() if one.promised_at and email_of(one)]
    late = min(mine, key=lambda one: (one.arrives_at, one.pk))
    moved(walk, late, certificate=who(late), on=WEEK + timedelta(days=2))
    assert "to call" in walk.tell_everybody()
    last = {str(event["UID"]): event["SEQUENCE"] for _method, event in walk.post(now=SUNDAY)}
    assert last == {f"visit-{late.uid}": 1}
    page = walk.look(f"{BASE}appointments/")
    assert late.premises.name in page
    call = AppointmentTold.objects.filter(stop=late).order_by("sequence").last()
    assert call is not None
    assert call.call_due
    walk.act(f"{BASE}appointments/{call.pk}/called/", reached="yes", words="is content")
    assert not AppointmentTold.objects.filter(pk=call.pk, call_due=True).exists()
    phones_agree(walk)
    customers_agree(walk)


def test_a_live_day_replans_the_rest_and_keeps_every_promise(dispatcher: Dispatcher) -> None:
    walk = dispatcher
    assigned(walk)
    called(walk)
    planned(walk)
    promised_and_told(walk)
    walk.goes_to(TUESDAY)
    now = TUESDAY.astimezone(UTC)
    past = [one for one in standing().values() if one.leaves_at <= now]
    nobody = max(past, key=lambda one: (one.arrives_at, one.pk))
    for stop in past:
        outcome = VisitOutcome.NOBODY if stop == nobody else VisitOutcome.DONE
        sent = {"outcome": str(outcome), "words": "", "seen": stop.revision}
        walk.act(f"{BASE}stops/{stop.pk}/outcome/", **sent)
    stood = {pk: one.arrives_at for pk, one in standing().items() if pk != nobody.pk}
    page, token = walk.plan(TUESDAY.date(), days=3)
    assert nobody.premises.name in page
    walk.keep(token)
    kept = standing()
    assert {pk: kept[pk].arrives_at for pk in stood} == stood
    again = Stop.objects.get(premises=nobody.premises, cancelled_at=None)
    assert again.arrives_at.astimezone(LA).date() > TUESDAY.date()
