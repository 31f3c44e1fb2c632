"""The rungs of a ladder as a rulebook states them, and those that left."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from scheduling.domain.cycles import Cycle
from scheduling.domain.matching import EVERYTHING, Attributes, Match
from scheduling.domain.sources import Source


class Trigger(StrEnum):
    """What a rung's day counts from."""

    PROMPTED = "prompted"  # an event that opened the obligation or moved its due date earlier
    OPENED = "opened"
    DUE = "due"  # the due date, or the day to cure by once a test failed
    FAILED = "failed"  # the first uncured failure


class Recipient(StrEnum):
    """To whom a rung goes."""

    RESPONSIBLE = "responsible party"
    OWNER = "owner"
    MANAGER = "manager"
    OCCUPANT = "occupant"
    CUSTOMER = "customer"
    SERVICE_ADDRESS = "service address"
    BILLING_ADDRESS = "billing address"
    FIRM = "testing company"
    FIRE_AUTHORITY = "fire authority"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One step of a ladder.

    `offset_days` counts from the trigger. `after` names the rung that must have left
    first, `gap_days` the least number of days since it left (the leaving day not counted:
    left 1 March, gap 14, earliest 15 March), or since its receipt, presumed
    `presumed_days` after it left, or, `from_delivery`, since the day it is known to have been
    delivered (unknown: as presumed; nothing presumed: it waits). Both count working days where
    `is_working`. `repeat`: how often it comes again, from the day it last left, until a later
    rung is owed; its COUNT is how often in all.
    `latest_left_days` from the trigger: the last day on which the law lets it leave; missed,
    it goes at once and a person is told. `without_day`: the day is not transcribed, so it
    never leaves by itself. Only a courtesy rung `is_skippable`; one that
    `is_required` by law never is. `needs_release`: a person releases it. `kinds` empty:
    for every kind of obligation without a ladder of its own. `also_by`: channels besides.
    `letter`: the kind of letter whose words it uses, empty: the one named as its key.
    `languages` besides English, empty: as the program and the recipient have it.
    """

    key: str
    trigger: Trigger
    citation: str
    offset_days: int = 0
    after: str | None = None
    gap_days: int = 0
    is_working: bool = False
    presumed_days: int = 0
    from_delivery: bool = False
    repeat: Cycle | None = None
    latest_left_days: int | None = None
    without_day: bool = False
    is_skippable: bool = False
    is_required: bool = False
    needs_release: bool = False
    is_order: bool = False
    channel: str = "mail"
    also_by: tuple[str, ...] = ()
    recipients: tuple[Recipient, ...] = ()
    letter: str = ""
    languages: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    match: Match = field(default_factory=Match)
    source: Source = field(default_factory=Source)

    @property
    def words(self) -> str:
        """The kind of letter it is written in."""
        return self.letter or self.key


@dataclass(frozen=True, slots=True)
class Ladder:
    """The ordered rungs for obligations of one rulebook."""

    rungs: tuple[Rung, ...]

    def rung(self, key: str) -> Rung:
        """Return the rung with this key; KeyError when the ladder has none."""
        for rung in self.rungs:
            if rung.key == key:
                return rung
        raise KeyError(key)

    @property
    def waits_for_delivery(self) -> bool:
        """Whether any rung counts from a delivery that somebody records."""
        return any(rung.from_delivery for rung in self.rungs)

    @property
    def tells_subjects_apart(self) -> bool:
        """Whether any rung asks what the subject is: then its attributes must be read."""
        return any(rung.match != EVERYTHING for rung in self.rungs)

    def for_kind(self, *, kind: str, attributes: Attributes) -> Ladder:
        """Return the rungs for obligations of a kind of a subject.

        A kind that any rung names has a ladder of its own; every other kind shares the
        rungs that name none.
        """
        own = tuple(rung for rung in self.rungs if kind in rung.kinds)
        mine = own or tuple(rung for rung in self.rungs if not rung.kinds)
        caught = tuple(rung for rung in mine if rung.match.catches(attributes))
        return self if caught == self.rungs else Ladder(caught)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftRung:
    """A rung of one obligation that left, and the day it is known to have been delivered.

    `occurrence` is a prompt's ISO date; of a rung that repeats, empty the first time, then
    `2`, `3` and so on; else empty.
    """

    rung: str
    left_on: date
    occurrence: str = ""
    delivered_on: date | None = None
