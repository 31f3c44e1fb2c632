"""What a rulebook must not be: contradictory, running backwards, or silent about a subject."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations

from scheduling.domain.ladder_checks import ladder_faults
from scheduling.domain.matching import Match, every_subject
from scheduling.domain.rulebook import EVERYTHING, VERIFY, Mark, Part, Regime, Rule, Rulebook
from scheduling.domain.rules import BRINGS_BACK, HOLDS_ORDERS, CycleRule, Provision, Topic
from scheduling.domain.rungs import Rung
from scheduling.domain.sources import Source


def faults_of(rulebook: Rulebook) -> list[str]:
    """Return every fault as one sentence that names the rule and the mend."""
    return [
        *_kind_faults(rulebook),
        *_cycle_faults(rulebook),
        *_overlap_faults(rulebook),
        *_repeat_faults(rulebook),
        *_name_faults(rulebook),
        *_provision_faults(rulebook),
        *ladder_faults(rulebook),
        *_gap_faults(rulebook),
        *_source_faults(rulebook),
        *_coverage_faults(rulebook),
    ]


def _kind_faults(rulebook: Rulebook) -> Iterator[str]:
    if not rulebook.kinds:
        yield 'No [[kind]] is named: add one with name = "test" and met_by = ["test"].'
    if not rulebook.cures and not _has_gap(rulebook, Part.CURE):
        yield "No [[cure]] is given: say within how many days a failure must be cured."
    known = {kind.name for kind in rulebook.kinds}
    for name, kind_name in _named(rulebook):
        if kind_name not in known:
            yield f"Rule {name} is of kind {kind_name!r}: add a [[kind]] of that name."
    for kind in rulebook.kinds:
        if not kind.met_by:
            yield f"Nothing meets kind {kind.name!r}: name at least one in met_by."


def _has_gap(rulebook: Rulebook, part: Part) -> bool:
    return any(gap.part is part for gap in rulebook.gap_list)


def _cycle_faults(rulebook: Rulebook) -> Iterator[str]:
    for rule in rulebook.cycles:
        for cycle in (rule.cycle, rule.cap):
            if cycle is not None and cycle.count is not None:
                yield f"Cycle {rule.id} ends after COUNT={cycle.count}: a cycle goes on."
        if rule.regime is Regime.SEASON and rule.month_end:
            yield f"Season {rule.id} names its last day: take out month_end."
        if rule.regime is Regime.SEASON and not (
            rule.cycle.freq == "YEARLY"
            and rule.cycle.interval == 1
            and len(rule.cycle.bymonth) == len(rule.cycle.bymonthday) == 1
        ):
            yield f"Season {rule.id} needs one day a year: FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=31."


def _overlap_faults(rulebook: Rulebook) -> Iterator[str]:
    """Yield the pairs of cycles that catch one subject and are of one stated priority."""
    for kind in rulebook.kinds:
        mine = [rule for rule in rulebook.cycles if rule.kind == kind.name]
        ranks = {rule.priority for rule in mine}
        if 0 in ranks and len(ranks) > 1:
            without = next(rule for rule in mine if rule.priority == 0)
            yield f"Cycle {without.id} has no priority beside others that have: give all one."
        for one, other in combinations(mine, 2):
            if one.priority == other.priority and _contradict(one, other, rulebook=rulebook):
                yield (
                    f"Cycles {one.id} and {other.id} catch the same assembly with equal priority:"
                    " give one of them a lower number, or let them catch different ones."
                )


def _contradict(one: CycleRule, other: CycleRule, *, rulebook: Rulebook) -> bool:
    """Return whether two rules of one priority cannot both be meant.

    Where the order of the list decides, only a later rule that it never lets speak.
    """
    if one.priority == 0:
        return _covers(one.match, other.match)
    asked = [one.match, other.match, *rulebook.matches()]
    return any(
        one.match.catches(attributes) and other.match.catches(attributes)
        for attributes in every_subject(asked)
    )


def _covers(one: Match, other: Match) -> bool:
    """Return whether the first catches all that the second catches."""
    return one in (EVERYTHING, other)


def _repeat_faults(rulebook: Rulebook) -> Iterator[str]:
    for rule in rulebook.repeats:
        if not 1 <= rule.failures <= rule.of_last:
            yield (
                f"Rule {rule.id} asks for {rule.failures} failures of the last {rule.of_last}:"
                " write 1 or more, and no more than of_last."
            )
        if rule.every.count is not None:
            yield f"Rule {rule.id} ends after COUNT={rule.every.count}: leave COUNT out."


def _name_faults(rulebook: Rulebook) -> Iterator[str]:
    names = Counter(name for name, _ in _named(rulebook))
    names.update(f"gap {gap.name}" for gap in rulebook.gap_list)
    for name, times in names.items():
        if times > 1:
            yield f"{times} rules are called {name!r}: give each its own id."


def _provision_faults(rulebook: Rulebook) -> Iterator[str]:
    for rule in rulebook.provisions:
        is_second = rule.topic is Topic.SECOND_MEANS
        if is_second and not rule.by:
            yield f'Rule {rule.id} names no second means: write by = ["hand"] or another.'
        if rule.topic is Topic.RESTORATION:
            yield from _restoration_faults(rule)
        elif rule.topic in (Topic.PROMISE, Topic.REPORT_IN_HAND):
            if set(rule.by) - {HOLDS_ORDERS}:
                yield (
                    f"Rule {rule.id} is about {rule.topic}, which leaves by no means: write"
                    ' by = ["order"] where it holds an order too, or take out by.'
                )
        elif rule.by and not is_second:
            yield f"Rule {rule.id} is about {rule.topic}, which leaves by no means: take out by."
        if rule.topic is Topic.HEARING and rule.days == 0:
            yield f"Rule {rule.id} gives no day to ask for a hearing: write days = 1 or more."


def _restoration_faults(rule: Provision) -> Iterator[str]:
    for one in rule.by:
        if one not in BRINGS_BACK:
            wanted = " or ".join(f'"{name}"' for name in BRINGS_BACK)
            yield f"Rule {rule.id} brings water back by {one!r}: write {wanted}."


def _named(rulebook: Rulebook) -> list[tuple[str, str]]:
    """Return the id and the kind of work of every rule that has both."""
    return [
        *((rule.id, rule.kind) for rule in rulebook.cycles),
        *((rule.id, rule.kind) for rule in rulebook.events),
        *((rule.id, rule.kind) for rule in rulebook.exempt),
        *((rule.id, rule.kind) for rule in rulebook.repeats),
    ]


def _gap_faults(rulebook: Rulebook) -> Iterator[str]:
    known = {kind.name for kind in rulebook.kinds}
    for gap in rulebook.gap_list:
        if gap.kind not in known:
            yield f"Gap {gap.name} is of kind {gap.kind!r}: add a [[kind]] of that name."
    names = {gap.name for gap in rulebook.gap_list}
    for waiver in rulebook.waivers:
        if waiver.gap not in names:
            yield f"Waiver of {waiver.gap!r} waives no gap of this rulebook: take it out."


def _source_faults(rulebook: Rulebook) -> Iterator[str]:
    """Yield the rules of a place that do not say when and how they were transcribed."""
    if not rulebook.place:
        return
    for name, citation, source in every_source(rulebook):
        if source.mark is Mark.UNMARKED:
            yield f'Rule {name} says not how far to trust it: write mark = "read" or "memory".'
        if source.mark is not Mark.LOCAL and source.transcribed_on is None:
            yield f"Rule {name} says not when it was transcribed: write transcribed = 2026-11-25."
        if source.mark is not Mark.LOCAL and VERIFY not in citation:
            yield f'The citation of rule {name} must end "{VERIFY}".'


def every_source(rulebook: Rulebook) -> Iterator[tuple[str, str, Source]]:
    """Yield every rule's name, citation and source."""
    for rule in _every_rule(rulebook):
        name = rule.key if isinstance(rule, Rung) else rule.id
        yield name, rule.citation, rule.source
    if rulebook.method:
        yield "method", rulebook.method_citation, rulebook.method_source
    if rulebook.credentials.is_given:
        yield "credentials", rulebook.credentials.citation, rulebook.credentials.source
    if rulebook.credentials.tester is not None:
        tester = rulebook.credentials.tester
        yield "credentials.tester", tester.citation, tester.source


def _every_rule(rulebook: Rulebook) -> Sequence[Rule | Rung]:
    singles = (rulebook.grace, rulebook.no_date, rulebook.transition)
    return [
        *rulebook.cycles,
        *rulebook.events,
        *rulebook.exempt,
        *rulebook.cures,
        *rulebook.repeats,
        *rulebook.reports,
        *rulebook.hindrances,
        *rulebook.protections,
        *rulebook.ratios,
        *rulebook.provisions,
        *(rule for rule in singles if rule.is_given),
        *rulebook.ladder.rungs,
    ]


def _coverage_faults(rulebook: Rulebook) -> Iterator[str]:
    if not rulebook.kinds:
        return
    bare = rulebook.uncovered()
    if bare:
        first = bare[0]
        yield (
            f"{len(bare)} kinds of assembly have no cycle, the first a {first.type} on"
            f" {first.hazard} hazard: add a [[cycle]] that catches it, or an [[exempt]]."
        )
