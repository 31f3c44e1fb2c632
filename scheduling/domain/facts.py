"""What happened, on which day, and the order that facts of one day take."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import StrEnum
from typing import NamedTuple


class FactKind(StrEnum):
    """What a fact says happened; the order here is the order within one day."""

    ASSESSED = "assessed"
    INSTALLED = "installed"
    RESUMED = "resumed"
    REOCCUPIED = "reoccupied"
    DEWINTERISED = "dewinterised"
    INCLUDED = "included"  # the end of an exemption
    RESTARTED = "restarted"  # a stopped clock runs again
    RELOCATED = "relocated"
    INCIDENT = "incident"
    UNPROTECTED = "unprotected"  # a service found without the protection it needs
    UNTESTABLE = "untestable"  # a visit on which it could not be tested
    FAILED = "failed"
    REPAIRED = "repaired"
    EASED = "eased"  # no rule asks any more for what a service lacked; told by no person
    PASSED = "passed"
    EXTENDED = "extended"
    HELD = "held"
    STOPPED = "stopped"  # the ladder's clock: an undeliverable letter, an objection
    IDLED = "idled"
    EXEMPTED = "exempted"
    REMOVED = "removed"


class Hindrance(StrEnum):
    """What stood in the way of a test."""

    SUBMERGED = "submerged"
    TEST_COCKS_MISSING = "test cocks missing"
    RELIEF_RUNNING = "relief valve running"
    UNAPPROVED_INSTALLATION = "unapproved installation"
    NO_ACCESS = "no access"
    SHUTOFF2_LEAKING = "shutoff valve 2 leaks"  # and no-flow was not shown
    VALVE_SEIZED = "shutoff valve seized"
    BYPASSED = "bypassed"
    NOT_THERE = "not there"
    REPLACED_BY_PIPE = "replaced by pipe"


RETURNS = frozenset({FactKind.RESUMED, FactKind.REOCCUPIED, FactKind.DEWINTERISED})
"""Facts that end an idle time."""

EVENTS = RETURNS | {
    FactKind.INSTALLED,
    FactKind.RELOCATED,
    FactKind.INCIDENT,
    FactKind.UNPROTECTED,
    FactKind.REPAIRED,
}
"""Facts that may ask for a test by themselves, where the rulebook says so."""

_OF_CLOCKS = frozenset({FactKind.STOPPED, FactKind.RESTARTED})
_PLACE = {kind: place for place, kind in enumerate(FactKind)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One dated fact about one subject.

    `work` names the kind of work a pass or a failure is of (test, inspection …).
    `found_failed` and `repaired_inside` belong to a pass: one report that found
    the assembly failing, mended it and passed it, which is one fact. `until` is the
    new due date of an extension, the last day of a hold, or the day on which an idle time
    or an exemption is looked at again. `hindrance` belongs to a visit on which it could not
    be tested. `cause` says what stopped a clock: a restart ends only the stop of its own cause.
    `reason`, `approved_by` and `group` belong to a person's decision.
    `recorded_at` and `withdrawn_at` are aware moments.
    """

    kind: FactKind
    on: date
    sequence: int = 0
    at: time | None = None
    work: str = "test"
    found_failed: bool = False
    repaired_inside: bool = False
    until: date | None = None
    hindrance: Hindrance | None = None
    cause: str = ""
    reason: str = ""
    approved_by: str = ""
    group: str = ""
    recorded_at: datetime | None = None
    withdrawn_at: datetime | None = None


def facts_known(*, facts: Iterable[Fact], known_at: datetime | None) -> list[Fact]:
    """Return the facts as they were known at a moment (None: as known now).

    Facts recorded later are dropped, and withdrawals made later are not yet made.
    """
    if known_at is None:
        return [fact for fact in facts if fact.withdrawn_at is None]
    return [fact for fact in facts if _is_known(fact=fact, known_at=known_at)]


def _is_known(*, fact: Fact, known_at: datetime) -> bool:
    if fact.recorded_at is not None and fact.recorded_at > known_at:
        return False
    return fact.withdrawn_at is None or fact.withdrawn_at > known_at


class DayOfFacts(NamedTuple):
    """The facts of one day in their order, with what a person should be told about them."""

    on: date
    facts: tuple[Fact, ...]
    warnings: tuple[str, ...] = ()


def days_of_facts(facts: Iterable[Fact]) -> list[DayOfFacts]:
    """Return the days that have facts, in order, each with its facts in the order of a day.

    The same word twice on one day is one fact. A failure and a pass of one kind of
    work reported apart on one day: time decides; without times and without a repair
    that day the failure stands, the pass counts for nothing, and a warning says so.
    """
    by_day: dict[date, list[Fact]] = {}
    for fact in facts:
        by_day.setdefault(fact.on, []).append(fact)
    return [_ordered_day(on=on, facts=by_day[on]) for on in sorted(by_day)]


def _ordered_day(*, on: date, facts: Sequence[Fact]) -> DayOfFacts:
    if len(facts) == 1:
        return DayOfFacts(on=on, facts=tuple(facts))
    ordered = _without_twins(sorted(facts, key=_place_in_day))
    warnings: list[str] = []
    for work in sorted({fact.work for fact in ordered if fact.kind is FactKind.FAILED}):
        ordered, told = _settle_failure_and_pass(on=on, facts=ordered, work=work)
        warnings += told
    return DayOfFacts(on=on, facts=tuple(ordered), warnings=tuple(warnings))


def _place_in_day(fact: Fact) -> tuple[int, str, time, bool, bool, date, int]:
    return (
        _PLACE[fact.kind],
        fact.work,
        fact.at or time.max,
        fact.found_failed,
        fact.repaired_inside,
        fact.until or date.max,
        fact.sequence,
    )


def stopping(facts: Iterable[Fact], *, on: date) -> dict[str, date]:
    """Return what stops the clock of letters on a day: each cause with the day it began.

    Within a day a restart comes before a stop. Withdrawn facts are not given.
    """
    found: dict[str, date] = {}
    told = (fact for fact in facts if fact.kind in _OF_CLOCKS and fact.on <= on)
    for fact in sorted(told, key=lambda fact: (fact.on, _PLACE[fact.kind])):
        if fact.kind is FactKind.STOPPED:
            found.setdefault(fact.cause, fact.on)
        else:
            found.pop(fact.cause, None)
    return found


def _without_twins(ordered: Sequence[Fact]) -> list[Fact]:
    """Keep one fact per word, work and cause: the last by time, and of tests the fullest."""
    kept: dict[tuple[FactKind, str, str], Fact] = {}
    for fact in ordered:
        kept[(fact.kind, fact.work, fact.cause)] = fact
    return list(kept.values())


def _settle_failure_and_pass(
    *, on: date, facts: list[Fact], work: str
) -> tuple[list[Fact], list[str]]:
    failed = next(f for f in facts if f.kind is FactKind.FAILED and f.work == work)
    passed = next((f for f in facts if f.kind is FactKind.PASSED and f.work == work), None)
    if passed is None:
        return facts, []
    if failed.at is not None and passed.at is not None:
        return (
            (_after(facts=facts, first=passed, then=failed), [])
            if (failed.at > passed.at)
            else (facts, [])
        )
    if passed.repaired_inside or any(f.kind is FactKind.REPAIRED for f in facts):
        return facts, []
    warning = (
        f"{on}: a failed and a passed {work} on one day, without times and without a repair:"
        " the failure stands. Enter the times, or withdraw the wrong one."
    )
    return [f for f in facts if f is not passed], [warning]


def _after(*, facts: list[Fact], first: Fact, then: Fact) -> list[Fact]:
    """Return the facts with `then` moved to stand right after `first`."""
    rest = [fact for fact in facts if fact is not then]
    place = rest.index(first) + 1
    return [*rest[:place], then, *rest[place:]]
