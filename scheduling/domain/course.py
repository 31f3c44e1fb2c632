"""The state replay keeps while it walks through the facts of one subject and kind of work."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from scheduling.domain.obligations import ClosedHow, Obligation, ObligationKey, Origin
from scheduling.domain.reasons import Reason
from scheduling.domain.rulebook import Attributes, CycleRule, Rulebook, WorkKind


@dataclass(slots=True, kw_only=True)
class Draft:
    """An obligation while its dates may still move.

    `cycle_due` is the cycle's own due date, None for one that an event or a missing date
    made. `waits` is True when it would have opened during an idle time. `event_due` is the
    earliest day an event asked for, `not_before` a later day given by grace or extension.
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

    def frozen(self, *, kind: str, is_idle: bool) -> Obligation:
        """Return the obligation as a value."""
        return Obligation(
            key=ObligationKey(kind, self.origin, self.origin_on, self.period),
            opens_on=self.opens_on,
            due_on=self.due_on,
            is_open=self.is_open and self.closed_on is None,
            rule=self.rule,
            citation=self.citation,
            rulebook=self.rulebook,
            cure_by=self.cure_by,
            failed_on=self.failed_on,
            prompts=tuple(self.prompts),
            is_suspended=is_idle and self.closed_on is None,
            courtesy_is_over=self.courtesy_is_over,
            closed_on=self.closed_on,
            closed_how=self.closed_how,
        )


@dataclass(slots=True, kw_only=True)
class Course:
    """Where one kind of work of one subject stands while its facts are walked through."""

    work: WorkKind
    rulebook: Rulebook
    attributes: Attributes
    rule: CycleRule | None
    has_installation: bool
    current: Draft | None = None
    closed: list[Draft] = field(default_factory=list)
    installed_on: date | None = None
    first_passed_on: date | None = None
    last_passed_on: date | None = None
    anchor: date | None = None
    keeps_anchor: bool = False
    idle_since: date | None = None
    removed_on: date | None = None
    reasons: list[Reason] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    questions: list[str] = field(default_factory=list)

    @property
    def kind(self) -> str:
        """The kind of obligation."""
        return self.work.name

    @property
    def is_without_dates(self) -> bool:
        """True while nothing is known to count from."""
        known = (self.current, self.installed_on, self.last_passed_on, self.removed_on)
        return all(date is None for date in known)

    def say(self, *, on: date, rule: str, arithmetic: str, citation: str) -> None:
        """Keep a reason."""
        name = f"{self.rulebook.label}: {rule}"
        self.reasons.append(Reason(on, name, arithmetic, citation))

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
            arithmetic=f"opens {on}, due {draft.due_on}",
            citation=draft.citation,
        )

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
