"""What a letter is composed from: plain values about sender, recipient, assemblies and ladder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Protocol

from notices.domain.addresses import AddressBlock
from notices.domain.in_hand import ReportInHand
from notices.domain.kinds import FireLine, LetterKind, Work


class Words(Protocol):
    """A catalogue of one language; the standard library's translations are such."""

    def gettext(self, message: str, /) -> str:
        """Return the message in the catalogue's language."""

    def ngettext(self, msgid1: str, msgid2: str, n: int, /) -> str:
        """Return the message for one or for many."""

    def info(self) -> Mapping[str, str]:
        """Return the head of the catalogue; its `language` where it names one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """The office that writes, and how it is reached."""

    name: str
    line: str
    phone: str = ""
    hours: str = ""
    email: str = ""
    shown_address: str = ""
    """The web address of the page for short codes, without a scheme: `wc.example/o`."""

    colour: str = ""
    """The office's colour as `#rrggbb`; empty: ink."""

    logo: str = ""
    """The SHA-256 under which its logo is kept; empty: none."""

    paper: str = ""
    """Its sheet and envelope as `Envelope.words`; empty: US Letter in a #10."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """What one notice is about, as the record stands on the letter's day.

    An assembly to be tested; or a service that lacks protection, with what is `there` and the
    types `allowed` by `asks_source`; or a premises to be surveyed, `last_passed_on` the last
    survey.
    """

    premises_key: str
    premises: str
    due_on: date
    serial: str = ""
    serial_is_ours: bool = False
    type: str = ""
    size_in: Decimal = Decimal(0)
    location: str = ""
    service: str = ""
    hazard: str = ""
    last_passed_on: date | None = None
    work: Work = Work.TEST
    there: tuple[str, ...] = ()
    allowed: tuple[str, ...] = ()
    asks_source: str = ""
    failed_on: date | None = None
    untested_on: date | None = None
    """The last visit since it opened that found no test to be possible."""

    valve: str = ""
    """The shutoff valve that kept it from being tested then."""

    cure_by: date | None = None
    report: ReportInHand | None = None
    """A report about it that came in and closed nothing."""

    cause: str = ""
    """What a test is owed for, in a word of the catalogue; `cause_on` is its day."""

    cause_on: date | None = None
    citation: str = ""
    fire: FireLine = FireLine.NONE
    in_vault: bool = False
    has_tenants: bool = False
    has_medical_supply: bool = False

    @property
    def is_hindered(self) -> bool:
        """Whether it counts as failed because it could not be tested."""
        return self.failed_on is not None and self.failed_on == self.untested_on


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A later rung of the ladder, as far as a letter may speak of it."""

    kind: str
    gap_days: int | None
    """Least days since the rung before it left; None where it counts from the due date."""

    is_courtesy: bool
    is_certified: bool
    needs_person: bool
    citation: str
    is_working: bool = False
    """Whether the gap is of working days."""

    on: date | None = None
    """The first day it may come if this letter leaves on its day, and each later one on its."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """By when a customer may ask to be heard, as the rulebook says it; `by` is the last day.

    Where that counts from a receipt nobody knows yet, `by` counts from the leaving day and is the
    least the reader has.
    """

    by: date | None
    words: str
    citation: str
    is_least: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """Everything one letter is composed from. `leaves_on` is the day its deadlines count from."""

    kind: LetterKind
    number: str
    code: str
    leaves_on: date
    sender: Sender
    address: AddressBlock
    items: tuple[Item, ...]
    ahead: tuple[Step, ...]
    is_certified: bool = False
    citation: str = ""
    language: str = "en"
    second_language: str = ""
    is_second_whole: bool = False
    """Whether the second language has the whole letter, or its headline only."""

    hearing: Hearing | None = None
    """Of a final notice: what the rulebook says of being heard, where it says anything."""

    restoration: str = ""
    """Of a final notice: how water comes back, in the rulebook's words."""

    restoration_citation: str = ""
    replaces: str = ""
    """The number of a letter whose days were too short when it was mailed; this one corrects it."""

    @property
    def work(self) -> Work:
        """What the letter asks for: its items ask for the same."""
        return self.items[0].work
