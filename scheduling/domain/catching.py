"""Which rules of a rulebook decide about a subject: in each list the first that catches it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduling.domain.matching import Attributes, SubjectKind
from scheduling.domain.rulebook import CycleRule, EventRule, ExemptRule, RepeatRule, Rule, Rulebook

Caught = tuple[str, int]
"""A table of the rulebook and the place of a rule in it."""

Dated = CycleRule | EventRule | ExemptRule | RepeatRule


def rules_for(*, rulebook: Rulebook, attributes: Attributes) -> frozenset[Caught]:
    """Return the rules that decide about an assembly with these attributes.

    A rule further down a list that would catch it too decides nothing, and is not among
    them. Example: an RP on high hazard under the rolling teaching rulebook is caught by
    cycle 0 (half-yearly) and not by cycle 1 (yearly).
    """
    return frozenset(_deciding(rulebook, attributes))


def _deciding(rulebook: Rulebook, attributes: Attributes) -> Iterator[Caught]:
    asked: set[str] = set()
    for kind in rulebook.kinds_of(SubjectKind.ASSEMBLY):
        exempt = rulebook.exempt_rule(kind=kind.name, attributes=attributes)
        if exempt is not None:
            yield "exempt", _place(exempt, rulebook.exempt)
            continue
        asked.add(kind.name)
        cycle = rulebook.cycle_rule(kind=kind.name, attributes=attributes)
        if cycle is not None:
            yield "cycle", _place(cycle, rulebook.cycles)
        repeat = rulebook.repeat_rule(kind=kind.name, attributes=attributes)
        if repeat is not None:
            yield "repeat", _place(repeat, rulebook.repeats)
        yield from _events(rulebook, kind=kind.name, attributes=attributes)
    if rulebook.main_kind in asked:
        for part, rules in (("cure", rulebook.cures), ("hindrance", rulebook.hindrances)):
            first = next((rule for rule in rules if rule.match.catches(attributes)), None)
            if first is not None:
                yield part, _place(first, rules)


def _events(rulebook: Rulebook, *, kind: str, attributes: Attributes) -> Iterator[Caught]:
    for event in {rule.event for rule in rulebook.events if rule.kind == kind}:
        rule = rulebook.event_rule(event=event, kind=kind, attributes=attributes)
        if rule is not None:
            yield "event", _place(rule, rulebook.events)


def _place(rule: Rule, rules: Sequence[Rule]) -> int:
    return next(place for place, one in enumerate(rules) if one is rule)
