"""An office that goes live with very many overdue, lived day by day as its people would.

What was composed on a day is printed and mailed on the next day of work, as the office has
said; tests come in, fail, and new devices are put in meanwhile. `Staging.days` keeps what each
day brought, for a test to look at; nothing in here decides what is owed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.delivery.paper_runs import mail_run, make_run, waiting_paper
from notices.models import Letter, LetterNotice
from notices.queries.waiting import waiting_letters
from registry.changes import Hand
from registry.models import Assembly, Party, Premises, PremisesParty, Program, ServiceConnection
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from tests.notices.offices import AT, START, happened, office

DAY = timedelta(days=1)
STREETS = ("Larch Court", "Birch Lane", "Hospital Road", "Mill Street", "Quarry Way")
HAZARDS = ("high", "low", "not assessed")

Line = tuple[str, str]
"""A letter as the page of what waits tells it apart: to whom, and its rung."""


def noon(on: date) -> datetime:
    """Noon of a day in the office's zone, as an instant."""
    return datetime(on.year, on.month, on.day, 20, tzinfo=UTC)


@dataclass(slots=True)
class Lived:
    """One day: what the page had said the evening before, and what was composed and mailed."""

    on: date
    shown: list[Line]
    written: list[Line]
    waiting: int
    mailed: int


@dataclass(slots=True)
class Staging:
    """A live office with `overdue` cases and some that come due later, and its days."""

    program: Program
    overdue: list[Assembly]
    coming: list[Assembly]
    today: date = START - DAY
    days: list[Lived] = field(default_factory=list)

    def page(self) -> list[Line]:
        """The letters that wait, in the order in which the page shows them."""
        said = waiting_letters(self.program, today=self.today, now=noon(self.today), most=10_000)
        assert len(said.lines) == said.letters
        return [(line.recipient, line.rung) for line in said.lines]

    def live(
        self, shown: list[Line], arrive: Callable[[date], None] = lambda _on: None
    ) -> list[Line]:
        """Live the next day: the post, what comes in, the run. Return the page of its evening.

        `shown` is the page of the evening before.
        """
        self.today += DAY
        self.program.refresh_from_db()
        mailed = self._post() if self.today.weekday() < 5 else 0
        arrive(self.today)
        run_day(program=self.program, as_of=self.today, now=noon(self.today))
        letters = Letter.objects.filter(composed_on=self.today).order_by("pk")
        rungs = dict(
            LetterNotice.objects.filter(letter__in=letters).values_list("letter", "notice__rung")
        )
        written = [(one.address_lines[0], rungs[one.pk]) for one in letters]
        waiting = self.page()
        self.days.append(Lived(self.today, shown, written, len(waiting), mailed))
        return waiting

    def _post(self) -> int:
        """Print and mail all that waits: it was composed for this day."""
        day = Day(program=self.program, on=self.today, at=noon(self.today))
        hand = Hand(by="Iva Brandt", at=noon(self.today))
        mailed = 0
        while channel := waiting_paper(self.program).values_list("channel", flat=True).first():
            run = make_run(program=self.program, channel=channel, day=day, hand=hand)
            mailed += len(mail_run(run, on=self.today, day=day, hand=hand))
        return mailed


def staging(*, overdue: int, coming: int, a_day: int, per_owner: int = 1) -> Staging:
    """Make an office that goes live with so many overdue, and so many due in the next weeks.

    Every tenth of the overdue failed a test in December; three hazards and five streets in
    turn. `per_owner`: how many of them belong to each owner; one letter carries those alike.
    """
    program = office(
        is_trial=False, go_live_on=START, letters_a_day=a_day, contacts={"mailing_after": 1}
    )
    facts: list[NewFact] = []
    made = [
        _case(program, number, owner=f"Owner {number // per_owner}")
        for number in range(overdue + coming)
    ]
    for number, one in enumerate(made):
        passed = (
            date(2022, 1, 1) + (number * 7 % 900) * DAY
            if number < overdue
            else date(2025, 1, 15) + (number - overdue) * 40 // coming * DAY
        )
        facts.append(_fact(one, FactKind.PASSED, passed))
        if number < overdue and number % 10 == 3:
            facts.append(_fact(one, FactKind.FAILED, date(2025, 12, 1)))
    record_facts(program=program, facts=facts, recorded_at=AT, by="a test")
    replay_assemblies(program=program, assembly_ids=None, as_of=START, at=AT)
    return Staging(program, made[:overdue], made[overdue:])


def comes_in(one: Assembly, kind: FactKind, *, on: date) -> None:
    """Record a fact on its day and work its assembly out again."""
    happened(one, ((kind.value, on),), as_of=on)


def put_in(program: Program, number: int, *, on: date) -> Assembly:
    """Put a new device in on a day, at a premises of its own."""
    made = _case(program, number, owner=f"Owner {number}")
    comes_in(made, FactKind.INSTALLED, on=on)
    return made


def _case(program: Program, number: int, *, owner: str) -> Assembly:
    where = {"city": "Tamarack Flats", "state": "WA", "zip": f"991{number % 5 + 71}"}
    street = f"{number} {STREETS[number % 5]}"
    party, _ = Party.objects.get_or_create(
        program=program, key=owner, defaults={"name": owner, "address": street, **where}
    )
    place = Premises.objects.create(
        program=program, account=str(number), key=str(number), address=street, **where
    )
    PremisesParty.objects.create(premises=place, party=party, role="owner")
    return Assembly.objects.create(
        program=program,
        premises=place,
        connection=ServiceConnection.objects.create(premises=place, kind="domestic"),
        type="DC",
        serial=f"S{number:05d}",
        serial_key=f"S{number:05d}",
        size_in=Decimal("0.75"),
        location="meter room",
        hazard=HAZARDS[number % 3],
        created_at=AT,
    )


def _fact(one: Assembly, kind: FactKind, on: date) -> NewFact:
    return NewFact(assembly_id=one.pk, kind=kind, on=on, source="person")
