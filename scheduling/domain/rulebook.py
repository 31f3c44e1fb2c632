"""The rules of a program as plain values, every one with its citation."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from registry.domain.kinds import AssemblyType
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.domain.gaps import Gap, Part, Waiver
from scheduling.domain.ladders import Ladder
from scheduling.domain.matching import EVERYTHING, Attributes, Match, SubjectKind, every_subject
from scheduling.domain.rules import (
    NOT_TRANSCRIBED,
    PROTECTION,
    SURVEY,
    TEST,
    CountsAs,
    Credentials,
    CycleRule,
    DaysRule,
    EventRule,
    ExemptRule,
    HindranceRule,
    MonthDay,
    ProtectionRule,
    Provision,
    RatioRule,
    Regime,
    RepeatRule,
    ReportRule,
    Rule,
    TesterTerm,
    Topic,
    WorkKind,
)
from scheduling.domain.sources import VERIFY, Mark, Source

__all__ = [
    "EVERYTHING",
    "NOT_TRANSCRIBED",
    "PROTECTION",
    "SURVEY",
    "TEST",
    "VERIFY",
    "Attributes",
    "CountsAs",
    "Credentials",
    "CycleRule",
    "DaysRule",
    "EventRule",
    "ExemptRule",
    "Gap",
    "HindranceRule",
    "Mark",
    "Match",
    "MonthDay",
    "Part",
    "ProtectionRule",
    "Provision",
    "RatioRule",
    "Regime",
    "RepeatRule",
    "ReportRule",
    "Rule",
    "Rulebook",
    "Source",
    "SubjectKind",
    "TesterTerm",
    "Topic",
    "Waiver",
    "WorkKind",
]

R = TypeVar("R", bound=Rule)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rulebook:
    """A whole rulebook; the first rule of a list that catches a subject decides.

    `place` is empty for a teaching rulebook. `effective_on` is the law's own day; from
    which day it binds a program is that program's adoption. `gap_list` names what was not
    transcribed, `waivers` what a person decided to do without.
    """

    name: str
    title: str
    method: str
    method_citation: str
    kinds: tuple[WorkKind, ...]
    cycles: tuple[CycleRule, ...]
    events: tuple[EventRule, ...]
    exempt: tuple[ExemptRule, ...]
    cures: tuple[DaysRule, ...]
    ladder: Ladder
    grace: DaysRule = NOT_TRANSCRIBED
    no_date: DaysRule = NOT_TRANSCRIBED
    transition: DaysRule = NOT_TRANSCRIBED
    credentials: Credentials = field(default_factory=Credentials)
    place: str = ""
    effective_on: date | None = None
    method_source: Source = field(default_factory=Source)
    repeats: tuple[RepeatRule, ...] = ()
    reports: tuple[ReportRule, ...] = ()
    hindrances: tuple[HindranceRule, ...] = ()
    protections: tuple[ProtectionRule, ...] = ()
    ratios: tuple[RatioRule, ...] = ()
    provisions: tuple[Provision, ...] = ()
    gap_list: tuple[Gap, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    edition: int = 1

    @property
    def label(self) -> str:
        """The name with its edition, which tells two versions apart."""
        return self.name if self.edition == 1 else f"{self.name} (edition {self.edition})"

    @property
    def main_kind(self) -> str:
        """The kind of work a standing speaks of."""
        return self.kinds[0].name

    @property
    def open_gaps(self) -> tuple[Gap, ...]:
        """What nobody has filled or waived yet; with any of it, it cannot be put in force."""
        waived = {waiver.gap for waiver in self.waivers}
        return tuple(gap for gap in self.gap_list if gap.name not in waived)

    @property
    def gaps(self) -> tuple[str, ...]:
        """The names of the open gaps."""
        return tuple(gap.name for gap in self.open_gaps)

    def kinds_of(self, subject: SubjectKind) -> tuple[WorkKind, ...]:
        """Return the kinds of obligation that a subject of this kind may have, in order."""
        return tuple(kind for kind in self.kinds if kind.subject is subject)

    def exempt_rule(self, *, kind: str, attributes: Attributes) -> ExemptRule | None:
        """Return the rule that exempts a subject from a kind of work, or None."""
        return _caught((rule for rule in self.exempt if rule.kind == kind), attributes)

    def cycle_rule(self, *, kind: str, attributes: Attributes) -> CycleRule | None:
        """Return the cycle that holds for a subject; None: that kind of work is not asked."""
        if self.exempt_rule(kind=kind, attributes=attributes) is not None:
            return None
        return _caught((rule for rule in self.cycles if rule.kind == kind), attributes)

    def repeat_rule(self, *, kind: str, attributes: Attributes) -> RepeatRule | None:
        """Return the rule that asks for more after repeat failures, or None."""
        return _caught((rule for rule in self.repeats if rule.kind == kind), attributes)

    def event_rule(self, *, event: FactKind, kind: str, attributes: Attributes) -> EventRule | None:
        """Return the rule that asks for work after an event, or None."""
        return next(iter(self.event_rules(event=event, kind=kind, attributes=attributes)), None)

    def event_rules(self, *, event: FactKind, kind: str, attributes: Attributes) -> list[EventRule]:
        """Return the rules that may ask for work after an event, in their order."""
        return [
            rule
            for rule in self.events
            if rule.event is event and rule.kind == kind and rule.match.catches(attributes)
        ]

    def asks(self, *, kind: str, attributes: Attributes) -> bool:
        """Return whether a kind of work is asked of a subject, by a cycle or after an event."""
        if self.exempt_rule(kind=kind, attributes=attributes) is not None:
            return False
        events = (rule for rule in self.events if rule.kind == kind and kind != self.main_kind)
        return (
            self.cycle_rule(kind=kind, attributes=attributes) is not None
            or _caught(events, attributes) is not None
        )

    def cycle_gap(self, *, kind: str, attributes: Attributes) -> Gap | None:
        """Return the gap that stands where a cycle would catch a subject, or None."""
        return next(
            (
                gap
                for gap in self.gap_list
                if gap.part is Part.CYCLE and gap.kind == kind and gap.match.catches(attributes)
            ),
            None,
        )

    def cure_rule(self, attributes: Attributes) -> DaysRule:
        """Return the days in which a failure must be cured, NOT_TRANSCRIBED where none is given.

        Where every rule names whom it catches and none catches the subject, the last holds,
        unless a gap says that the rest is not transcribed.
        """
        found = _caught(self.cures, attributes)
        if found is not None:
            return found
        is_gap = any(gap.part is Part.CURE for gap in self.gap_list)
        return NOT_TRANSCRIBED if is_gap or not self.cures else self.cures[-1]

    def report_rule(self, *, about: FactKind, attributes: Attributes) -> ReportRule | None:
        """Return how soon a report of that fact is in, or None where nothing is said."""
        mine = (rule for rule in self.reports if not rule.about or about in rule.about)
        return _caught(mine, attributes)

    def hindrance_rule(
        self, *, hindrance: Hindrance | None, attributes: Attributes
    ) -> HindranceRule | None:
        """Return what "could not be tested" counts as, or None where nothing is said."""
        mine = (r for r in self.hindrances if not r.hindrances or hindrance in r.hindrances)
        return _caught(mine, attributes)

    def provision(self, *, topic: Topic, attributes: Attributes) -> Provision | None:
        """Return what the rulebook says of a topic, or None where it says nothing.

        Where it says nothing of a promise, a promise holds no rung; nothing of second means, a
        refused letter is followed by none.
        """
        return _caught((rule for rule in self.provisions if rule.topic is topic), attributes)

    def ladder_for(self, *, kind: str, attributes: Attributes) -> Ladder:
        """Return the rungs for obligations of a kind of a subject.

        A kind that any rung names has a ladder of its own; every other kind shares the
        rungs that name none.
        """
        return self.ladder.for_kind(kind=kind, attributes=attributes)

    def protection_rule(self, attributes: Attributes) -> ProtectionRule | None:
        """Return the rule that says which types protect a service, or None."""
        return _caught(self.protections, attributes)

    def lacks_protection(
        self, *, installed: Iterable[AssemblyType], attributes: Attributes
    ) -> ProtectionRule | None:
        """Return the rule by which a service is unprotected or under-protected, or None."""
        rule = self.protection_rule(attributes)
        return rule if rule is not None and not rule.allowed & set(installed) else None

    def matches(self) -> list[Match]:
        """Return whom each rule and gap catches: what a subject can be told apart by."""
        rules: list[Rule] = [*self.cycles, *self.events, *self.exempt, *self.cures, *self.repeats]
        return [*(rule.match for rule in rules), *(gap.match for gap in self.gap_list)]

    def uncovered(self) -> list[Attributes]:
        """Return the subjects that no cycle, exemption or gap of the main kind catches."""
        kind = self.main_kind
        return [
            attributes
            for attributes in every_subject(self.matches())
            if self.exempt_rule(kind=kind, attributes=attributes) is None
            and self.cycle_rule(kind=kind, attributes=attributes) is None
            and self.cycle_gap(kind=kind, attributes=attributes) is None
        ]


def _caught(rules: Iterable[R], attributes: Attributes) -> R | None:
    """Return the first rule that catches a subject."""
    return next((rule for rule in rules if rule.match.catches(attributes)), None)
