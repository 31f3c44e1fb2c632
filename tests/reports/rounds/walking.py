"""A dispatcher at the pages: what they send and read, and the ledger of what customers go by."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from email.message import EmailMessage
from typing import Any

from django.contrib.auth import get_user_model
from django.test import Client
from icalendar import Calendar, Event

from registry.domain.kinds import PartyRole, Role
from registry.models import Membership, Party, Premises, PremisesParty, Tester
from reports.models import Stop
from tests.notices.delivery.posts import Sink, send
from tests.reports.rounds.office import Office

BASE = "/p/flats/rounds/"


def words_of(page: Any) -> str:
    """The words of a page, without its marks."""
    text = re.sub(r"<[^>]+>", " ", page.content.decode())
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ").replace("&nbsp;", " "))


def owned(office: Office, premises: Premises, *, email: str) -> Party:
    """Give a premises an owner, with an e-mail address or without."""
    party = Party.objects.create(
        program=office.program,
        name=f"Owner of {premises.name}",
        key=f"owner-{premises.pk}",
        address=premises.address,
        city="Tamarack Flats",
        state="WA",
        zip="99171",
        phone="509 555 0100",
        email=email,
    )
    PremisesParty.objects.create(premises=premises, party=party, role=PartyRole.OWNER)
    return party


@dataclass
class Dispatcher:
    """A person who plans, at the pages alone, with the mail that leaves and the feeds made."""

    office: Office
    sink: Sink
    clock: Any
    client: Client = field(default_factory=Client)
    feeds: dict[str, str] = field(default_factory=dict)
    """Addresses of calendars, by certificate."""
    heard: dict[str, Event] = field(default_factory=dict)
    """What each customer's calendar holds, by UID: the newest word that came by e-mail."""

    def __post_init__(self) -> None:
        person = get_user_model().objects.create_user("marit")
        Membership.objects.create(
            user_id=person.pk, role=Role.ADMINISTRATOR, program=self.office.program
        )
        self.client.force_login(person)

    def goes_to(self, moment: datetime) -> None:
        """Time passes."""
        self.clock.move_to(moment, tick=False)

    def look(self, path: str) -> str:
        """The words of a page."""
        page = self.client.get(path)
        assert page.status_code == 200, (path, page.status_code)
        return words_of(page)

    def act(self, path: str, **sent: Any) -> str:
        """Send a form; the words of the page that it leads to."""
        page = self.client.post(path, sent, follow=True)
        assert page.status_code == 200, (path, page.status_code, words_of(page)[:600])
        return words_of(page)

    def plan(self, first: date, *, days: int) -> tuple[str, str]:
        """Look for a plan; the words of the proposal, and its token."""
        sent = {"first": first.isoformat(), "days": str(days), "seconds": "1"}
        answer = self.client.post(f"{BASE}plan/", sent)
        assert answer.status_code == 302, words_of(answer)[:600]
        return self.look(answer["Location"]), answer["Location"].rpartition("=")[2]

    def keep(self, token: str) -> str:
        """Accept what was looked at."""
        return self.act(f"{BASE}plan/keep/", run=token)

    def tell_everybody(self) -> str:
        """Tick all who are to be told something, and tell them."""
        page = self.client.get(f"{BASE}appointments/").content.decode()
        keys = re.findall(r'name="say" value="([^"]+)"', page)
        return self.act(f"{BASE}appointments/", say=keys)

    def post(self, *, now: datetime) -> list[tuple[str, Event]]:
        """Let the mail leave; what calendars were sent, as method and event."""
        before = len(self.sink.taken)
        send(self.office.program, at=now)
        said = [invitation(message) for message in self.sink.taken[before:]]
        for method, event in said:
            known = self.heard.get(str(event["UID"]))
            # RFC 5546 section 2.1.4: a word with no higher SEQUENCE is passed over.
            assert known is None or sequence(event) > sequence(known), (method, event)
            self.heard[str(event["UID"])] = event
        return said

    def subscribe(self, tester: Tester) -> None:
        """Make an address for a tester's phone."""
        sent = {"of": f"visits-{tester.pk}", "reader": "phone"}
        page = self.client.post("/p/flats/calendars/", sent).content.decode()
        (address,) = set(re.findall(r"http://[^\s\"]+\.ics", page))
        self.feeds[tester.certificate] = re.sub(r"^http://[^/]+", "", address)

    def feed(self, certificate: str) -> Calendar:
        """What a tester's phone reads now, without any log-in."""
        answer = Client().get(self.feeds[certificate])
        assert answer.status_code == 200
        calendar = Calendar.from_ical(answer.content)
        assert isinstance(calendar, Calendar)
        return calendar


def invitation(message: EmailMessage) -> tuple[str, Event]:
    """Method and event of an invitation (RFC 6047, section 2.4: in the part and in the text)."""
    (part,) = [one for one in message.walk() if one.get_content_type() == "text/calendar"]
    calendar = Calendar.from_ical(part.get_content())
    method = part.get_param("method")
    assert method == calendar["METHOD"]
    (event,) = calendar.walk("VEVENT")
    assert isinstance(event, Event)
    return str(method), event


def sequence(event: Any) -> int:
    """Which word about its visit an event is."""
    return int(event["SEQUENCE"])


def standing() -> dict[int, Stop]:
    """The visits that stand, by their own number."""
    found = Stop.objects.filter(cancelled_at=None, round__isnull=False)
    return {one.pk: one for one in found.select_related("premises", "round__tester")}


def moments(event: Any) -> tuple[datetime, datetime]:
    """Start and end of an event, in UTC."""
    return event.decoded("DTSTART").astimezone(UTC), event.decoded("DTEND").astimezone(UTC)
