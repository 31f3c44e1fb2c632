"""A case lived day by day: the run of each day, letters mailed the same day, told as lines.

A line is `2026-05-01 notice by mail to Larch Court Apartments: Have it done by June 15, 2026.`;
an order that was prepared and waits for a person is `2026-07-30 shutoff-order prepared`.
The gaps of a place are filled as in the demo: invented, and marked so.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from config.demo.invented import filled_text
from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.delivery.paper_runs import PAPER, mail_run, make_run, waiting_paper
from notices.domain.kinds import FINAL_KINDS, LetterState
from notices.models import Delivery, Letter
from registry.changes import Hand
from registry.models import Assembly, LoadBatch, Premises, PremisesParty, Program
from scheduling.actions.adoption import put_in_force
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.models import Rulebook
from tests.notices.offices import AT, assembly, happened, owner, premises

LOADED = date(2026, 1, 5)
FIRE = {"name": "Tamarack Flats Fire", "address": "2 Hose Lane", "city": "Tamarack Flats",
        "state": "WA", "zip": "99171"}  # fmt: skip


class Pace(StrEnum):
    """How closely a case is lived."""

    AROUND = "around"
    EVERY_DAY = "every day"

    def days(self, start: date, end: date, *, marked: Iterable[date]) -> list[date]:
        """The days to run, in their order."""
        every = [start + timedelta(days=n) for n in range((end - start).days + 1)]
        if self is Pace.EVERY_DAY:
            return every
        near = {day + timedelta(days=n) for day in marked for n in (-1, 0, 1)}
        return [day for n, day in enumerate(every) if day in near or n % 7 == 0 or day == end]


class Story:
    """One office with a place's rulebook, and one premises with its people."""

    def __init__(
        self, place: str, *, state: str = "", residential: bool = False, is_trial: bool = False
    ) -> None:
        self.program = Program.objects.create(
            code=place, name="Tamarack Flats Water District", zone="UTC", go_live_on=LOADED,
            state=state, is_trial=is_trial, contacts={"fire_department": FIRE}, created_at=AT,
            letterhead={"name": "Tamarack Flats Water District", "phone": "(555) 010-0142"},
        )  # fmt: skip
        _keep(self.program, place=place, text=filled_text(place))
        put_in_force(program=self.program, name=place, effective_on=date(2020, 1, 1))
        LoadBatch.objects.create(program=self.program, what="registry", as_of=LOADED, at=AT)
        self.owner = owner(self.program)
        self.premises = self.place(230, residential=residential)

    def place(self, number: int, *, residential: bool = False) -> Premises:
        """A premises of the owner's."""
        use = "residence" if residential else "office"
        return premises(self.program, number, of=self.owner, use=use)

    def party(self, name: str, role: str, **address: str) -> None:
        """Somebody else at the premises."""
        found = owner(self.program, name, **address)
        PremisesParty.objects.create(premises=self.premises, party=found, role=role)

    def stands(self, serial: str = "S1", *facts: tuple[str, date], **what: str) -> Assembly:
        """An assembly with what is known of it on the day of the load."""
        self.premises.refresh_from_db()
        return assembly(self.premises, serial, facts=facts, as_of=LOADED, **what)

    def told(self, one: Assembly, kind: str, on: date) -> None:
        """Something that happens to it, recorded the same day."""
        happened(one, [(kind, on)], as_of=on)

    def lives(self, expected: str, *, start: str, end: str, pace: Pace) -> None:
        """Live from a day to another and compare what left with the lines expected.

        Letters are mailed on the day they are made. The days of the lines, the days beside
        them and every seventh day are run, or every day.
        """
        wanted = [line.strip() for line in expected.strip().splitlines()]
        marked = [date.fromisoformat(line[:10]) for line in wanted]
        first, last = date.fromisoformat(start), date.fromisoformat(end)
        for day in pace.days(first, last, marked=marked):
            self.runs(day)
            self.mails(day)
        told = [line for line in self.lines() if first.isoformat() <= line[:10]]
        assert told == wanted, "\n".join(["lived:", *told])

    def runs(self, day: date) -> None:
        """Run a day."""
        run_day(program=self.program, as_of=day, now=_noon(day))

    def mails(self, day: date) -> None:
        """Say that all paper was mailed, hung or handed over on a day."""
        at = Day(program=self.program, on=day, at=_noon(day))
        hand = Hand(by="A. Clerk", at=_noon(day))
        for channel in PAPER:
            if waiting_paper(self.program).filter(channel=channel).exists():
                made = make_run(program=self.program, channel=channel, day=at, hand=hand)
                mail_run(made, on=day, day=at, hand=hand)

    def letters(self) -> list[Letter]:
        """Every letter, in the order in which they left or were made."""
        rows = Letter.objects.filter(program=self.program).exclude(state=LetterState.WITHDRAWN)
        return sorted(rows, key=lambda one: (one.left_on or one.composed_on, one.pk))

    def lines(self) -> list[str]:
        """The case as lines."""
        return [self._line(one) for one in self.letters()]

    def finals(self) -> list[Letter]:
        """The letters after which an order may follow."""
        return [one for one in self.letters() if one.kind in FINAL_KINDS]

    def _line(self, one: Letter) -> str:
        rung = one.carried.order_by("pk")[0].notice.rung
        if one.is_order:
            return f"{one.composed_on} {rung} prepared"
        ways = Delivery.objects.filter(letter=one).order_by("pk").values_list("channel", flat=True)
        told = one.content["headline"][1].replace("\u00a0", " ")
        return f"{one.left_on} {rung} by {' and '.join(ways)} to {one.address_lines[0]}: {told}"


def said(letter: Letter) -> str:
    """Everything a letter says in its sections, as one text."""
    found = (text for section in letter.content["sections"] for text in section["paragraphs"])
    return " ".join(found).replace("\u00a0", " ")


def _keep(program: Program, *, place: str, text: str) -> None:
    book = read_rulebook(text)
    Rulebook.objects.create(
        name=place, program=program, title=book.title, text=text, gaps=list(book.gaps),
        sha256=hashlib.sha256(text.encode()).hexdigest(), loaded_at=AT,
    )  # fmt: skip


def _noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
