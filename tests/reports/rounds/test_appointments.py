"""Customers told of their visits: once each, changed with a risen SEQUENCE, over real SMTP."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from email.message import EmailMessage
from zoneinfo import ZoneInfo

import pytest
import time_machine
from icalendar import Calendar, Event

from notices.actions.clocks import Day
from notices.models import Delivery, Letter
from registry.changes import Hand
from registry.domain.kinds import PartyRole
from registry.models import Party, PremisesParty
from reports.actions.appointments import Tally, call_made, tell_customers
from reports.models import AppointmentTold, PlanChange, Round, Stop
from reports.queries.appointments import calls_due, to_tell
from reports.rounds.changing import (
    Changer,
    ChangeRefusedError,
    call_off,
    mark_stop,
    move_stop,
    undo_change,
)
from reports.rounds.promising import promise_all
from reports.rounds.week import Horizon
from tests.notices.delivery.posts import Sink, mail_server, send
from tests.reports.rounds.office import MONDAY, TODAY, Office

pytestmark = [pytest.mark.django_db, pytest.mark.database]

NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)  # noon in the office's zone
LATER = date(2026, 12, 7)


@pytest.fixture(autouse=True)
def _stands_at_noon() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    office.program.is_trial = False
    office.program.go_live_on = date(2026, 1, 1)
    office.program.letterhead = {"name": "Tamarack Flats Water", "phone": "509 555 0100"}
    office.program.save()
    return office


def with_owners(office: Office, *, emails: bool) -> None:
    for number, work in enumerate(office.town(visits=4, period="2026-12-15"), start=1):
        party = Party.objects.create(
            program=office.program,
            name=f"Owner {number}",
            key=f"owner-{number}",
            address=f"{number} Juniper St",
            city="Tamarack Flats",
            state="WA",
            zip="99171",
            email=f"owner{number}@example.org" if emails else "",
        )
        PremisesParty.objects.create(
            premises=work.its_assembly.premises, party=party, role=PartyRole.OWNER
        )


def changer(office: Office, *, at: datetime = NOW) -> Changer:
    horizon = Horizon(TODAY, 40, ZoneInfo(office.zone), TODAY)
    return Changer(office.program, horizon, Hand(by="Dana", at=at))


def promised(office: Office, first_day: date = LATER) -> list[Stop]:
    office.plan(first_day=first_day, days=2)
    stops = list(Stop.objects.order_by("arrives_at"))
    promise_all(changer(office), stops, words="all promised")
    return list(Stop.objects.order_by("arrives_at"))


def tell(office: Office, *, now: datetime = NOW) -> Tally:
    keys = [one.key for one in to_tell(office.program, now=now)]
    day = Day(program=office.program, on=now.date(), at=now)
    return tell_customers(office.program, keys=keys, hand=Hand(by="Dana", at=now), day=day, now=now)


def sent(office: Office, sink: Sink, *, now: datetime = NOW) -> list[EmailMessage]:
    before = len(sink.taken)
    send(office.program, at=now)
    return sink.taken[before:]


def invited(message: EmailMessage) -> tuple[str, Event]:
    """The method and the event of a message, its MIME form asserted (RFC 6047, section 2.4)."""
    assert message.get_content_type() == "multipart/mixed"
    alternative, pdf = message.iter_parts()
    assert alternative.get_content_type() == "multipart/alternative"
    kinds = [part.get_content_type() for part in alternative.iter_parts()]
    assert kinds == ["text/plain", "text/html", "text/calendar"]
    assert pdf.get_content_type() == "application/pdf"
    part = list(alternative.iter_parts())[-1]
    assert part.get_content_disposition() is None
    assert part.get_content_charset() == "utf-8"
    calendar = Calendar.from_ical(part.get_content())
    method = part.get_param("method")
    assert method == calendar["METHOD"]
    (event,) = calendar.walk("VEVENT")
    assert isinstance(event, Event)
    sender = message["From"].addresses[0].addr_spec
    assert event["ORGANIZER"] == f"mailto:{sender}"
    assert event["ATTENDEE"] == f"mailto:{message['To'].addresses[0].addr_spec}"
    assert event["ATTENDEE"].params["RSVP"] == "TRUE"
    return str(method), event


def test_each_customer_is_told_once_by_an_invitation(office: Office) -> None:
    sink = Sink()
    with mail_server(sink):
        with_owners(office, emails=True)
        stops = promised(office)
        assert tell(office) == Tally(written=4)
        assert tell(office) == Tally()
        messages = sent(office, sink)
        assert sent(office, sink) == []
    assert len(messages) == 4
    events = {}
    for message in messages:
        method, event = invited(message)
        assert (method, event["SEQUENCE"], event["STATUS"]) == ("REQUEST", 0, "CONFIRMED")
        events[str(event["UID"])] = event
        assert "List-Unsubscribe" not in message
    for stop in stops:
        event = events[f"visit-{stop.uid}"]
        assert event.decoded("DTSTART") == stop.arrives_at
        assert event.decoded("DTEND") == stop.leaves_at
        assert event["DTSTART"].params["TZID"] == office.zone
    letter = Letter.objects.order_by("pk")[0]
    assert (letter.kind, letter.state, letter.released_by) == ("appointment", "left", "Dana")
    assert not Delivery.objects.exclude(state="left").exists()


def test_a_new_time_raises_the_sequence_and_a_cancelled_visit_cancels(office: Office) -> None:
    sink = Sink()
    with mail_server(sink):
        with_owners(office, emails=True)
        first, second, *_rest = promised(office)
        tell(office)
        sent(office, sink)
        later = LATER + timedelta(days=3)
        assert first.round is not None
        move_stop(
            changer(office),
            first,
            tester_id=first.round.tester_id,
            on=later,
            place=1,
            seen=first.revision,
        )
        call_off(changer(office), second, reason="flooded vault", seen=second.revision)
        assert tell(office) == Tally(written=2)
        found = {str(event["UID"]): (method, event) for method, event in
                 map(invited, sent(office, sink))}  # fmt: skip
        method, event = found[f"visit-{first.uid}"]
        assert (method, event["SEQUENCE"]) == ("REQUEST", 1)
        assert event.decoded("DTSTART").date() == later
        method, event = found[f"visit-{second.uid}"]
        assert (method, event["SEQUENCE"], event["STATUS"]) == ("CANCEL", 1, "CANCELLED")
        assert tell(office) == Tally()
        # Their mind changed a second time: the visit called off is back.
        undo_change(changer(office), PlanChange.objects.filter(program=office.program)[0])
        assert tell(office) == Tally(written=1)
        ((method, event),) = map(invited, sent(office, sink))
        assert (method, event["SEQUENCE"], str(event["UID"])) == (
            "REQUEST",
            2,
            f"visit-{second.uid}",
        )


def test_a_replan_moves_nothing_that_was_told(office: Office) -> None:
    with_owners(office, emails=True)
    stops = promised(office)
    tell(office)
    office.plan(first_day=LATER, days=5)
    office.plan(first_day=LATER - timedelta(days=4), days=9)
    assert [(one.uid, one.arrives_at) for one in Stop.objects.order_by("arrives_at")] == [
        (one.uid, one.arrives_at) for one in stops
    ]
    assert to_tell(office.program, now=NOW) == []


def test_a_change_within_48_hours_is_also_a_call(office: Office) -> None:
    with_owners(office, emails=True)
    first, *_rest = promised(office, first_day=MONDAY)
    tell(office)
    eve = first.arrives_at - timedelta(hours=20)
    call_off(changer(office, at=eve), first, reason="tester ill", seen=first.revision)
    assert tell(office, now=eve) == Tally(written=1, calls=1)
    (call,) = calls_due(office.program)
    assert calls_due(office.program, now=eve).get() == call
    assert not calls_due(office.program, now=first.arrives_at).exists()
    hand = Hand(by="Dana", at=eve)
    assert call_made(call, words="no answer", was_reached=False, hand=hand)
    assert [one.call_words for one in calls_due(office.program)] == ["no answer"]
    assert call_made(call, words="will tell the owner", was_reached=True, hand=hand)
    assert not call_made(call, words="twice", was_reached=True, hand=hand)
    assert not calls_due(office.program).exists()


def test_without_an_address_a_letter_goes_in_time_or_a_person_calls(office: Office) -> None:
    with_owners(office, emails=False)
    promised(office)
    assert tell(office) == Tally(written=4)
    letter = Letter.objects.order_by("pk")[0]
    # On paper it has left when a person says it was mailed.
    assert (letter.channel, letter.state) == ("mail", "leaving")
    told = " ".join(letter.content["headline"]).replace("\u00a0", " ")
    assert "A tester comes to" in told
    assert "December 7, 2026, at" in told


def test_nearer_than_five_days_without_an_address_is_a_call_alone(office: Office) -> None:
    with_owners(office, emails=False)
    promised(office, first_day=date(2026, 11, 27))
    assert tell(office) == Tally(calls=4)
    assert not Letter.objects.exists()
    assert AppointmentTold.objects.filter(call_due=True).count() == 4


def test_what_changed_since_it_was_shown_is_not_said(office: Office) -> None:
    with_owners(office, emails=True)
    first, *_rest = promised(office)
    keys = [one.key for one in to_tell(office.program, now=NOW)]
    mark_stop(changer(office), first, act="free", seen=first.revision)
    day = Day(program=office.program, on=TODAY, at=NOW)
    tally = tell_customers(
        office.program, keys=keys, hand=Hand(by="Dana", at=NOW), day=day, now=NOW
    )
    assert tally.written == 3


def test_all_visits_of_a_day_are_promised_at_once_and_undone_at_once(office: Office) -> None:
    with_owners(office, emails=True)
    stops = promised(office)
    assert all(stop.promised_by == "Dana" for stop in stops)
    with pytest.raises(ChangeRefusedError, match="promised already"):
        promise_all(changer(office), stops, words="again")
    undo_change(changer(office), PlanChange.objects.filter(program=office.program)[0])
    assert not Stop.objects.filter(promised_at__isnull=False).exists()
    assert to_tell(office.program, now=NOW) == []


def test_a_day_without_a_depot_on_record_goes_on_from_where_its_plan_let_it_start() -> None:
    # The mean of what was due is another place than the mean of what found room in the day.
    office = Office()
    office.tester("T-1")
    office.town(visits=40)
    office.plan(days=1)
    assert Stop.objects.count() < 40
    one = Round.objects.get()
    planned = changer(office).read()
    day = planned.week.problem.day_by_key[str(one.tester_id), one.on]
    start = planned.week.spots[day.depot]
    assert (start.lat, start.lon) == (float(one.depot_lat), float(one.depot_lon))
