"""The kinds of rule a rulebook may hold, each with its citation and how far it is to be trusted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from registry.domain.kinds import AssemblyType
from scheduling.domain.cycles import Cycle
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.domain.matching import Match, SubjectKind
from scheduling.domain.sources import Source

TEST = "test"
"""The kind of work that every rulebook asks for first: the field test."""

SURVEY = "survey"
"""The work a hazard assessment of a premises is: it meets a re-survey."""

PROTECTION = "protection"
"""The work of installing or replacing protection where a service lacks it."""


class Regime(StrEnum):
    """How a due date follows from what was done before."""

    ROLLING = "rolling"
    ANNIVERSARY = "anniversary"
    SEASON = "season"


@dataclass(frozen=True, slots=True)
class MonthDay:
    """A day of every year; 29 February and the like are clamped to the month's end."""

    month: int
    day: int

    def __str__(self) -> str:
        return f"{self.month:02d}-{self.day:02d}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What every rule has: a name of its own, its words' source, and whom it catches."""

    id: str
    citation: str
    source: Source = field(default_factory=Source)
    match: Match = field(default_factory=Match)


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleRule(Rule):
    """How often a kind of work comes round.

    `opens_days`: days before the due date that it opens. `early_days`, `late_days`: the
    window of an anniversary on either side; the due date is the anniversary + `late_days`.
    `cap`, `cap_days`: the longest time since the last pass. `season_opens` and
    `credit_from` (the day after the cut-off) belong to a season. `month_end`: due the last
    day of that month.
    `priority`: the lowest goes first; rules of one priority may not overlap, and 0 leaves
    it to the order of the list.
    """

    regime: Regime
    cycle: Cycle
    kind: str = TEST
    priority: int = 0
    opens_days: int = 0
    early_days: int = 0
    late_days: int = 0
    cap: Cycle | None = None
    cap_days: int = 0
    month_end: bool = False
    season_opens: MonthDay | None = None
    credit_from: MonthDay | None = None

    def __hash__(self) -> int:
        """Go by the name alone: rules are looked up for every assembly of a registry."""
        return hash(self.id)

    @property
    def window_days(self) -> int:
        """Days before the due date from which a pass meets an anniversary."""
        return self.early_days + self.late_days


def in_order(cycles: Iterable[CycleRule]) -> tuple[CycleRule, ...]:
    """Return cycles as they are asked: by priority, those of one priority as they stand."""
    return tuple(sorted(cycles, key=lambda rule: rule.priority))


@dataclass(frozen=True, slots=True, kw_only=True)
class EventRule(Rule):
    """An event that asks for a kind of work within some days (of work, or of the calendar).

    `idle_months`: of a return to use, only after an idle time longer than so many months.
    """

    event: FactKind
    days: int
    is_working: bool = False
    idle_months: int = 0
    kind: str = TEST


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysRule(Rule):
    """A number of days for a purpose: cure, grace, transition, no date known.

    `is_given` is False where the rulebook does not say: then nothing follows from it.
    """

    days: int
    is_working: bool = False
    is_given: bool = True


NOT_TRANSCRIBED = DaysRule(id="not transcribed", days=0, citation="not transcribed", is_given=False)
"""Stands where the rulebook does not say; a gap of the rulebook names it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExemptRule(Rule):
    """Subjects of which a kind of work is not asked."""

    kind: str = TEST


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatRule(Rule):
    """More often after repeat failures: `failures` of the last `of_last` rounds failed.

    A round runs from the first test of an obligation to the pass that meets it, and failed
    when any test in it failed as found. The next due date is then at the latest the last
    pass + `every`, until fewer of the last rounds failed.
    """

    failures: int
    of_last: int
    every: Cycle
    kind: str = TEST


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportRule(Rule):
    """How soon a report of work done is in; `about` empty: of every test."""

    days: int
    is_working: bool = False
    about: frozenset[FactKind] = frozenset()


class CountsAs(StrEnum):
    """What a visit on which the assembly could not be tested counts as."""

    FAILED = "failed"
    NOT_TESTED = "not tested"


@dataclass(frozen=True, slots=True, kw_only=True)
class HindranceRule(Rule):
    """What "could not be tested" counts as, by what stood in the way (empty: anything)."""

    hindrances: frozenset[Hindrance] = frozenset()
    counts_as: CountsAs = CountsAs.NOT_TESTED


@dataclass(frozen=True, slots=True, kw_only=True)
class ProtectionRule(Rule):
    """The types that protect well enough; a service with none of them lacks protection."""

    allowed: frozenset[AssemblyType]


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioRule(Rule):
    """The share of assemblies to be tested in a calendar year, the rest chased after it."""

    share: Decimal
    chase_days: int


class Topic(StrEnum):
    """What a provision is about."""

    HEARING = "hearing"
    RESTORATION = "restoration"
    EMERGENCY = "emergency"
    NO_SHUTOFF = "no shutoff"
    WHO_TESTS = "who tests"
    REPORT_DUE = "report due"
    REPORT_CONTENT = "report content"
    RETENTION = "retention"
    RECIPIENTS = "recipients"
    PROMISE = "promise"  # a promised visit holds the next rung until its day
    SECOND_MEANS = "second means"  # what leaves after a letter was refused or unclaimed
    REPORT_IN_HAND = "report in hand"  # one that waits for the office holds overdue rungs
    SECOND_PERSON = "second person"  # an order is signed by two
    FEE = "fee"  # what may be asked for a shutoff, a restoration, a late test


BRINGS_BACK = ("passed test", "booked test")
"""What a rulebook may name as enough for water to come back."""

HOLDS_ORDERS = "order"
"""What a rulebook names where a promise, or a report in hand, holds an order besides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Provision(Rule):
    """A rule in words that people, letters and orders go by; `days` where it names some.

    Of a hearing: within how many days it is asked for. Of a promise: at most so many days it
    holds the next rung (None: until its day, whenever that is). Of a report in hand: for how many
    days from its coming in it holds overdue rungs. Of an emergency: within how many
    days the notice follows the shutoff. `by`: of second means, how the notice leaves again; of a
    restoration, what brings the water back (`BRINGS_BACK`; none named: a passed test); of a
    promise or a report in hand, `HOLDS_ORDERS` where it holds an order besides.
    """

    topic: Topic
    words: str
    days: int | None = None
    is_working: bool = False
    by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkKind:
    """A kind of obligation, the kinds of work that meet it, and what it is about."""

    name: str
    met_by: tuple[str, ...]
    subject: SubjectKind = SubjectKind.ASSEMBLY


@dataclass(frozen=True, slots=True, kw_only=True)
class TesterTerm:
    """How many months a tester's certificate holds."""

    months: int
    citation: str
    source: Source = field(default_factory=Source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Credentials:
    """What a field test must be backed by; `gauge_months` 0: the rulebook does not say."""

    gauge_months: int = 0
    citation: str = "not transcribed"
    source: Source = field(default_factory=Source)
    tester: TesterTerm | None = None

    @property
    def is_given(self) -> bool:
        """True where the rulebook says how long a calibration holds."""
        return self.gauge_months > 0
