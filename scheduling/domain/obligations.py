"""One thing owed by one date: what it springs from, its dates, and how it closed."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import NamedTuple

from scheduling.domain.pauses import Pause


class Origin(StrEnum):
    """What an obligation springs from, fixed when it opens."""

    CYCLE = "cycle"
    INSTALLED = "installed"
    RELOCATED = "relocated"
    INCIDENT = "incident"
    UNPROTECTED = "unprotected"
    REPAIRED = "repaired"
    RESUMED = "resumed"
    REOCCUPIED = "reoccupied"
    DEWINTERISED = "dewinterised"
    FAILED = "failed"
    NO_DATE = "no date"


class ClosedHow(StrEnum):
    """How an obligation ended."""

    MET = "met"
    MISSED = "missed"
    EXCUSED = "excused"
    SUPERSEDED = "superseded"


class ObligationKey(NamedTuple):
    """What identifies an obligation of one subject through every recalculation.

    `origin` with `origin_on`: the cycle and the day it counts from (a pass, an
    anchor, a season), or the event and its day. `period` is the cycle's due date,
    or the event's day.
    """

    kind: str
    origin: Origin
    origin_on: date
    period: date

    @classmethod
    def from_texts(cls, *, kind: str, origin: str, period: str) -> ObligationKey:
        """Return the key from its stored words."""
        word, _, day = origin.partition(":")
        return cls(kind, Origin(word), date.fromisoformat(day), date.fromisoformat(period))

    @property
    def origin_text(self) -> str:
        """The origin as one stored word: `cycle:2024-08-30`."""
        return f"{self.origin.value}:{self.origin_on.isoformat()}"

    @property
    def period_text(self) -> str:
        """The period as it is stored, an ISO date."""
        return self.period.isoformat()


class Obligation(NamedTuple):
    """One obligation as replay found it; a tuple, for replay makes one for every round.

    `opens_on` of a coming obligation is the day it will open (`is_open` False and
    `closed_on` None). `failed_on` is the first uncured failure, `cure_by` stays on the
    closed row. `prompts` are the days of the events that opened it or moved its due
    date earlier: a test-owed notice for each. `is_suspended`: idle, so nothing is owed
    now. `courtesy_is_over`: it was overdue when extended, and never goes back to courtesy.
    `target_on`, from levelling: when the test is wanted; courtesy rungs count from it.
    `pauses`: holds and stopped clocks.
    """

    key: ObligationKey
    opens_on: date
    due_on: date
    is_open: bool
    rule: str
    citation: str
    rulebook: str
    cure_by: date | None = None
    failed_on: date | None = None
    prompts: tuple[date, ...] = ()
    is_suspended: bool = False
    courtesy_is_over: bool = False
    pauses: tuple[Pause, ...] = ()
    target_on: date | None = None
    closed_on: date | None = None
    closed_how: ClosedHow | None = None

    @property
    def kind(self) -> str:
        """The kind of work owed: test, inspection …."""
        return self.key.kind

    @property
    def is_coming(self) -> bool:
        """True while it has not opened yet."""
        return not self.is_open and self.closed_on is None
