"""The state replay keeps while it walks through the facts of one subject and kind of work."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import NamedTuple, Protocol

from scheduling.domain.obligations import ClosedHow, Obligation, ObligationKey, Origin
from scheduling.domain.pauses import Pause
from scheduling.domain.reasons import Reason
from scheduling.domain.rulebook import (
    Attributes,
    CycleRule,
    EventRule,
    RepeatRule,
    Rule,
    Rulebook,
    WorkKind,
)
from scheduling.domain.workdays import ONE_DAY, Holidays, days_after


class Days(Protocol):
    """A number of days, of work or of the calendar."""

    @property
    def days(self) -> int:
        """How many."""

    @property
    def is_working(self) -> bool:
        """Whether only days of work are counted."""


class Asking(NamedTuple):
    """By what work is asked for: the rule's name, and its source."""

    rule: str
    citation: str

    @classmethod
    def of(cls, rule: Rule) -> Asking:
        """Return a rule's name and source."""
        return cls(rule.id, rule.citation)


@dataclass(slots=True, kw_only=True)
class Draft:
    """An obligation while its dates may still move.

    `cycle_due` is the cycle's own due date (a season's last day, an anniversary: a cap may
    come before it), None for one that an event or a missing date made. `waits` is True when
    it would have opened during an idle time. `event_due` is the earliest day an event asked
    for, `not_before` a later day given by grace or extension. `anniversary`: the day that a
    pass meets from `window_on` on.
    """

    origin: Origin
    origin_on: date
    period: date
    opens_on: date
    due_on: date
    rule: str
    citation: str
    rulebook: str
    cycle_due: date | None = None
    window_on: date | None = None
    anniversary: date | None = None
    is_open: bool = False
    waits: bool = False
    event_due: date | None = None
    not_before: date | None = None
    cure_by: date | None = None
    failed_on: date | None = None
    prompts: list[date] = field(default_factory=list)
    courtesy_is_over: bool = False
    closed_on: date | None = None
    closed_how: ClosedHow | None = None

    @property
    def has_begun(self) -> bool:
        """True once it opened, or would have but for an idle time."""
        return self.is_open or self.waits

    def spring_from(self, *, origin: Origin, on: date) -> None:
        """Fix what a coming obligation springs from when an event opens it."""
        if not self.has_begun:
            self.origin, self.origin_on, self.period = origin, on, on

    def frozen(self, *, kind: str, is_idle: bool, pauses: tuple[Pause, ...] = ()) -> Obligation:
        """Return the obligation as a value, its columns in their order: names would cost more."""
        is_closed = self.closed_on is not None
        return Obligation(
            ObligationKey(kind, self.origin, self.origin_on, self.period),
            self.opens_on,
            self.due_on,
            self.is_open and not is_closed,
            self.rule,
            self.citation,
            self.rulebook,
            self.cure_by,
            self.failed_on,
            tuple(self.prompts),
            is_idle and not is_closed,
            self.courtesy_is_over,
            pauses,
            None,
            self.closed_on,
            self.closed_how,
        )


@dataclass(slots=True, kw_only=True)
class Course:
    """Where one kind of work of one subject stands while its facts are walked through.

    `excused`: what was owed when it ceased to be asked for, until a pass or until asked again.
    """

    work: WorkKind
    rulebook: Rulebook
    attributes: Attributes
    has_installation: bool
    holidays: Holidays = ()
    rule: CycleRule | None = None
    repeat: RepeatRule | None = None
    is_asked: bool = False
    label: str = ""
    current: Draft | None = None
    closed: list[Draft] = field(default_factory=list)
    installed_on: date | None = None
    first_asked_by: EventRule | None = None
    first_passed_on: date | None = None
    last_passed_on: date | None = None
    anchor: date | None = None
    keeps_anchor: bool = False
    met_through: date | None = None
    idle_since: date | None = None
    removed_on: date | None = None
    exempted_since: date | None = None
    excused: Draft | None = None
    review_on: date | None = None
    rounds_failed: list[bool] = field(default_factory=list)
    holds: list[tuple[date, date]] = field(default_factory=list)
    pauses: list[Pause] = field(default_factory=list)
    stopped_by: frozenset[str] = frozenset()
    reasons: list[Reason] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    questions: list[str] = field(default_factory=list)

    @property
    def kind(self) -> str:
        """The kind of obligation."""
        return self.work.name

    @property
    def is_stopped(self) -> bool:
        """True while a stopped clock waits for a person."""
        return any(pause.ends is None for pause in self.pauses)

    def follow(self, *, rulebook: Rulebook, attributes: Attributes) -> None:
        """Let a rulebook and attributes hold, and find the rules that catch the subject."""
        self.rulebook, self.attributes = rulebook, attributes
        self.label = rulebook.label
        self.is_asked = self.exempted_since is None and rulebook.asks(
            kind=self.kind, attributes=attributes
        )
        self.rule = self.repeat = None
        if self.is_asked:
            self.rule = rulebook.cycle_rule(kind=self.kind, attributes=attributes)
            self.repeat = rulebook.repeat_rule(kind=self.kind, attributes=attributes)

    @property
    def tightened_by(self) -> RepeatRule | None:
        """The rule for repeat failures, while so many of the last rounds failed."""
        if self.repeat is None:
            return None
        failed = sum(self.rounds_failed[-self.repeat.of_last :])
        return self.repeat if failed >= self.repeat.failures else None

    def days_on(self, day: date, *, rule: Days) -> date:
        """Return the day so many days after a day, of work or of the calendar."""
        return days_after(day, rule.days, is_working=rule.is_working, holidays=self.holidays)

    def _pauses_of(self, draft: Draft) -> tuple[Pause, ...]:
        """Return the pauses that touch an obligation of this course."""
        ends = draft.closed_on or date.max
        return tuple(
            pause
            for pause in sorted(self.pauses, key=lambda pause: pause.since)
            if pause.since <= ends and (pause.ends or date.max) > draft.opens_on
        )

    def held(self, day: date) -> date:
        """Return the day, or the last day of the hold that holds it; that last day stays."""
        for since, until in sorted(self.holds):
            if since <= day < until:
                day = until
        return day

    def obligations(self) -> list[Obligation]:
        """Return what is and was owed as values, oldest first, no two with one key.

        A period asked for a second time (after an exemption; a season met before its credit)
        counts from the day on which it opens again.
        """
        found: dict[ObligationKey, Obligation] = {}
        kind, is_idle = self.work.name, self.idle_since is not None
        for draft in self.closed if self.current is None else (*self.closed, self.current):
            pauses = self._pauses_of(draft) if self.pauses else ()
            obligation = draft.frozen(kind=kind, is_idle=is_idle, pauses=pauses)
            if obligation.key in found:
                obligation = _another(obligation, than=found)
            found[obligation.key] = obligation
        return list(found.values())

    @property
    def is_without_dates(self) -> bool:
        """True while nothing is known to count from."""
        known = (self.current, self.installed_on, self.last_passed_on, self.removed_on)
        return all(date is None for date in known)

    def asked_by(self, by: Asking, *, origin: Origin, since: date, on: date, due: date) -> Draft:
        """Return work asked for on a day by no cycle: by an event of `since`, or without dates."""
        return Draft(
            origin=origin,
            origin_on=since,
            period=on,
            opens_on=on,
            due_on=due,
            prompts=[on],
            rule=by.rule,
            citation=by.citation,
            rulebook=self.label,
        )

    def say(self, *, on: date, rule: str, arithmetic: str, citation: str) -> None:
        """Keep a reason."""
        self.reasons.append(Reason(on, f"{self.label}: {rule}", arithmetic, citation))

    def ask(self, question: str) -> None:
        """Keep a warning that a person must settle."""
        self.warnings.append(question)
        self.questions.append(question)

    def open_current(self, *, on: date) -> None:
        """Open the coming obligation on a day."""
        draft = self.current
        if draft is None or draft.is_open:
            return
        draft.opens_on = on
        draft.is_open, draft.waits = True, False
        self.say(
            on=on,
            rule=draft.rule,
            arithmetic=_opens(on, draft.due_on),
            citation=draft.citation,
        )

    def open_what_begins(self, *, on: date) -> None:
        """Open what is coming if its day is that day or before; during an idle time it waits."""
        draft = self.current
        if draft is not None and draft.opens_on <= on and self.idle_since is None:
            self.open_current(on=draft.opens_on)

    def close_current(self, *, on: date, how: ClosedHow, why: str) -> None:
        """Close what is owed; one not yet open opens and closes that day."""
        draft = self.current
        if draft is None:
            return
        if not draft.is_open:
            draft.opens_on = on
        draft.is_open, draft.waits = True, False
        draft.closed_on, draft.closed_how = on, how
        self.closed.append(draft)
        self.current = None
        self.say(on=on, rule=draft.rule, arithmetic=f"{why}: closed {how}", citation=draft.citation)


def _another(obligation: Obligation, *, than: Container[ObligationKey]) -> Obligation:
    """Return an obligation whose key was given before under a key that counts from its opening."""
    key, again_on = obligation.key, obligation.opens_on
    while key in than:
        key, again_on = key._replace(origin_on=again_on), again_on + ONE_DAY
    return obligation._replace(key=key)


@lru_cache(maxsize=65536)
def _opens(on: date, due_on: date) -> str:
    return f"opens {on}, due {due_on}"
