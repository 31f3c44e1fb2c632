"""What a rulebook must not be: contradictory, running backwards, or silent about a subject."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scheduling.domain.ladders import Ladder, Trigger
from scheduling.domain.rulebook import Regime, Rulebook


def faults_of(rulebook: Rulebook) -> list[str]:
    """Return every fault as one sentence that names the rule and the mend."""
    return [
        *_kind_faults(rulebook),
        *_cycle_faults(rulebook),
        *_name_faults(rulebook),
        *_ladder_faults(rulebook.ladder),
        *_coverage_faults(rulebook),
    ]


def _kind_faults(rulebook: Rulebook) -> Iterator[str]:
    if not rulebook.kinds:
        yield 'No [[kind]] is named: add one with name = "test" and met_by = ["test"].'
    if not rulebook.cures:
        yield "No [[cure]] is given: say within how many days a failure must be cured."
    known = {kind.name for kind in rulebook.kinds}
    for name, kind_name in _named(rulebook):
        if kind_name not in known:
            yield f"Rule {name} is of kind {kind_name!r}: add a [[kind]] of that name."
    for kind in rulebook.kinds:
        if not kind.met_by:
            yield f"Nothing meets kind {kind.name!r}: name at least one in met_by."


def _cycle_faults(rulebook: Rulebook) -> Iterator[str]:
    for rule in rulebook.cycles:
        if rule.cycle.count is not None:
            yield f"Cycle {rule.id} ends after COUNT={rule.cycle.count}: a cycle goes on."
        if rule.regime is Regime.SEASON and not (
            rule.cycle.freq == "YEARLY"
            and rule.cycle.interval == 1
            and len(rule.cycle.bymonth) == len(rule.cycle.bymonthday) == 1
        ):
            yield f"Season {rule.id} needs one day a year: FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=31."


def _name_faults(rulebook: Rulebook) -> Iterator[str]:
    names = Counter(name for name, _ in _named(rulebook))
    for name, times in names.items():
        if times > 1:
            yield f"{times} rules are called {name!r}: give each its own id."


def _named(rulebook: Rulebook) -> list[tuple[str, str]]:
    """Return the id and the kind of work of every rule that has both."""
    return [
        *((rule.id, rule.kind) for rule in rulebook.cycles),
        *((rule.id, rule.kind) for rule in rulebook.events),
        *((rule.id, rule.kind) for rule in rulebook.exempt),
    ]


def _ladder_faults(ladder: Ladder) -> Iterator[str]:
    before: set[str] = set()
    latest = None
    for rung in ladder.rungs:
        if rung.key in before:
            yield f"Rung {rung.key!r} stands twice: keep one."
        if rung.after is not None and rung.after not in before:
            yield f"Rung {rung.key!r} follows {rung.after!r}, which does not stand before it."
        if rung.is_skippable and (rung.needs_release or rung.is_order or rung.offset_days > 0):
            yield f"Rung {rung.key!r} is a courtesy: it cannot follow the due date or need release."
        if rung.trigger is Trigger.DUE:
            if latest is not None and rung.offset_days < latest:
                yield f"Rung {rung.key!r} runs backwards: its day lies before the rung above it."
            latest = rung.offset_days
        before.add(rung.key)


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
