"""How many letters rules would bring in the months to come, on an assumption that is named."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from scheduling.domain.cycles import add_months
from scheduling.domain.ladders import Ladder, LeftRung, RungStep, next_rung
from scheduling.domain.obligations import Obligation, ObligationKey, Origin
from scheduling.domain.regimes import Coming, coming_of
from scheduling.domain.rulebook import CycleRule, Regime
from scheduling.domain.workdays import Holidays

MONTHS = 24
LATE_DAYS = 30
ASSUMED = (
    "Each test is passed on the day it is due. What is past its day when the rules take effect"
    f" is passed {LATE_DAYS} days later. What the rules in force asked for before that day has"
    " left. One letter is counted for each rung of each assembly; letters to one address on one"
    " day travel together, so fewer leave. Orders, which a person signs, are not counted."
)
"""What a forecast takes for granted; it stands beside every one."""

Months = tuple[int, ...]
"""Letters in each month of the window."""

_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The months letters are counted in, from the day the rules take effect on."""

    start: date
    months: int = MONTHS

    @property
    def end(self) -> date:
        """The first day after the window."""
        return add_months(self.start.replace(day=1), self.months)

    @property
    def labels(self) -> tuple[str, ...]:
        """The months as `2026-11`."""
        first = self.start.replace(day=1)
        return tuple(f"{add_months(first, n):%Y-%m}" for n in range(self.months))

    def place(self, day: date) -> int:
        """Return the number of the month a day lies in, from 0."""
        return (day.year - self.start.year) * 12 + day.month - self.start.month

    def counted(self, days: Iterable[date]) -> Months:
        """Return how many days lie in each month; those outside the window are left out."""
        found = [0] * self.months
        for day in days:
            if self.start <= day < self.end:
                found[self.place(day)] += 1
        return tuple(found)

    @property
    def none(self) -> Months:
        """No letter in any month."""
        return (0,) * self.months


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What a forecast goes on with: a rule, its ladder, and for an anniversary the anchor."""

    rule: CycleRule | None
    ladder: Ladder
    anchor: date | None = None


@dataclass(slots=True)
class Forecast:
    """Counts letters under one rulebook; each rule and pair of dates is worked out once.

    `holidays`: the days the office is closed, by which rungs count days of work.
    """

    window: Window
    holidays: Holidays = ()
    _later: dict[tuple[int, str, date | None, date], Months] = field(default_factory=dict)
    _now: dict[tuple[object, ...], Months] = field(default_factory=dict)
    _ladders: dict[int, Ladder] = field(default_factory=dict)

    def letters(
        self, *, obligation: Obligation, course: Course, left: tuple[LeftRung, ...] = ()
    ) -> Months:
        """Return the letters of what is owed now and of all that follows it.

        Example: due 2026-03-04, reminders 45 and 15 days before: one in January and one in
        February 2026, and again a year later.
        """
        if obligation.is_suspended or obligation.closed_on is not None:
            return self.window.none
        self._ladders[id(course.ladder)] = course.ladder
        passed = self.passed_on(obligation)
        now = self._of_this(obligation, course=course, left=left, until=passed)
        later = self._of_those_after(passed, course=course)
        return tuple(a + b for a, b in zip(now, later, strict=True))

    def passed_on(self, obligation: Obligation) -> date:
        """Return the day on which the obligation is taken to be met."""
        by = obligation.cure_by or obligation.due_on
        late = self.window.start + timedelta(days=LATE_DAYS)
        return by if by >= self.window.start else late

    def _of_this(
        self, obligation: Obligation, *, course: Course, left: tuple[LeftRung, ...], until: date
    ) -> Months:
        key = (id(course.ladder), obligation.opens_on, obligation.due_on, obligation.failed_on,
               obligation.cure_by, obligation.prompts, obligation.courtesy_is_over,
               obligation.pauses, left)  # fmt: skip
        if key not in self._now:
            start = max(self.window.start, obligation.opens_on)
            steps = climbed(
                ladder=course.ladder,
                obligation=obligation,
                left=left,
                start=start,
                until=until,
                holidays=self.holidays,
            )
            self._now[key] = self.window.counted(s.on for s in steps if not s.rung.is_order)
        return self._now[key]

    def _of_those_after(self, passed_on: date, *, course: Course) -> Months:
        rule = course.rule
        if rule is None or passed_on >= self.window.end:
            return self.window.none
        anchor = course.anchor if rule.regime is Regime.ANNIVERSARY else None
        key = (id(course.ladder), rule.id, anchor, passed_on)
        if key not in self._later:
            self._later[key] = self._worked_out(rule, course=course, passed_on=passed_on)
        return self._later[key]

    def _worked_out(self, rule: CycleRule, *, course: Course, passed_on: date) -> Months:
        found = [0] * self.window.months
        for coming in _comings(rule, anchor=course.anchor, passed_on=passed_on):
            if coming.opens_on >= self.window.end:
                break
            steps = climbed(
                ladder=course.ladder,
                obligation=_opened(coming, rule=rule),
                left=(),
                start=max(coming.opens_on, passed_on),
                until=coming.due_on,
                holidays=self.holidays,
            )
            counted = self.window.counted(s.on for s in steps if not s.rung.is_order)
            found = [a + b for a, b in zip(found, counted, strict=True)]
        return tuple(found)


def _comings(rule: CycleRule, *, anchor: date | None, passed_on: date) -> Iterator[Coming]:
    """Yield what the cycle asks, each time passed on the day it is due."""
    while True:
        coming = coming_of(rule=rule, anchor=anchor, last_passed_on=passed_on, installed_on=None)
        if coming is None or coming.due_on <= passed_on:
            return
        yield coming
        passed_on = coming.due_on


def _opened(coming: Coming, *, rule: CycleRule) -> Obligation:
    return Obligation(
        key=ObligationKey(rule.kind, Origin.CYCLE, coming.counts_from, coming.due_on),
        opens_on=coming.opens_on,
        due_on=coming.due_on,
        is_open=True,
        rule=rule.id,
        citation=rule.citation,
        rulebook="",
    )


def climbed(
    *,
    ladder: Ladder,
    obligation: Obligation,
    left: tuple[LeftRung, ...],
    start: date,
    until: date,
    holidays: Holidays = (),
) -> list[RungStep]:
    """Return the rungs that leave from a day on, each on the first day it is owed, to the pass.

    Example: overdue since a year, nothing left, from 2026-11-25 for 30 days: the first
    overdue rung that day, the second 14 days later, the final 15 days after it.
    """
    found: list[RungStep] = []
    gone, today = list(left), start
    most = len(ladder.rungs) + len(obligation.prompts)
    while len(found) <= most:
        step = next_rung(
            ladder=ladder, obligation=obligation, left=gone, today=today, holidays=holidays
        )
        if step is None or max(step.on, today) > until:
            return found
        today = max(step.on, today)
        gone.append(LeftRung(rung=step.rung.key, left_on=today, occurrence=step.occurrence))
        found.append(
            RungStep(rung=step.rung, occurrence=step.occurrence, on=today, skipped=step.skipped)
        )
        today += _ONE_DAY
    return found


def left_by_then(
    *,
    ladder: Ladder,
    obligation: Obligation,
    live_from: date | None,
    day: date,
    holidays: Holidays = (),
) -> tuple[LeftRung, ...]:
    """Return the rungs taken to have left before a day, where letters go out since another.

    None: no letter has ever left.
    """
    if live_from is None or not obligation.is_open or obligation.is_suspended:
        return ()
    steps = climbed(
        ladder=ladder,
        obligation=obligation,
        left=(),
        start=max(obligation.opens_on, live_from),
        until=day - _ONE_DAY,
        holidays=holidays,
    )
    return tuple(
        LeftRung(rung=step.rung.key, left_on=step.on, occurrence=step.occurrence)
        for step in steps
        if not step.rung.is_order
    )
