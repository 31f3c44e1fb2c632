"""Facts that cannot be: a day out of the calendar, a future one, an end before its beginning."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from scheduling.domain.facts import Fact, FactKind

REVIEWED = frozenset({FactKind.IDLED, FactKind.EXEMPTED})
"""Facts whose `until` is the day on which a person looks again."""

EARLIEST, LATEST = date(1900, 1, 1), date(2200, 12, 31)


def fact_faults(*, facts: Iterable[Fact], today: date, known: Iterable[Fact] = ()) -> list[str]:
    """Return what is wrong with new facts of one subject, a sentence for each with its mend.

    `known`: the facts on record, without what was withdrawn; they are told only where a new
    fact contradicts them. Example: an extension of 2026-03-01 until 2026-02-01 ends before it
    begins.
    """
    told = sorted(facts, key=lambda fact: (fact.on, fact.sequence))
    found = [fault for fact in told for fault in _faults_of(fact, today=today)]
    return [*found, *_passes_too_early(told, known=list(known))]


def day_fault(day: date, *, what: str) -> str:
    """Return what is wrong with a day, or nothing."""
    if EARLIEST <= day <= LATEST:
        return ""
    return f"{what} {day} lies outside 1900 to 2200: correct the year."


def _faults_of(fact: Fact, *, today: date) -> list[str]:
    found = [day_fault(fact.on, what=f"{fact.kind} on")]
    if fact.until is not None:
        found.append(day_fault(fact.until, what=f"{fact.kind} on {fact.on} until"))
    if today < fact.on <= LATEST:
        found.append(f"{fact.kind} on {fact.on} lies after {today}: enter it when it has happened.")
    found.append(_end_fault(fact))
    return [said for said in found if said]


def _end_fault(fact: Fact) -> str:
    if fact.kind in REVIEWED and fact.until is not None and fact.until < fact.on:
        return (
            f"{fact.kind} on {fact.on} is to be looked at again on {fact.until}, before it begins:"
            " give a later day."
        )
    if fact.kind not in (FactKind.EXTENDED, FactKind.HELD):
        return ""
    if fact.until is None:
        return f"{fact.kind} on {fact.on} has no end: give its last day."
    if fact.until <= fact.on:
        return (
            f"{fact.kind} on {fact.on} until {fact.until} ends before it begins: give a later day."
        )
    return ""


def _passes_too_early(told: Sequence[Fact], *, known: Sequence[Fact]) -> list[str]:
    """Tell a new pass before the first installation, and a new first installation after a pass."""
    everything = [*told, *known]
    installed = [fact.on for fact in everything if fact.kind is FactKind.INSTALLED]
    if not installed:
        return []
    first = min(installed)
    is_new = any(fact.kind is FactKind.INSTALLED and fact.on == first for fact in told)
    passes = [fact.on for fact in (everything if is_new else told) if fact.kind is FactKind.PASSED]
    return [
        f"passed on {on} lies before the installation on {first}: correct one of the two."
        for on in sorted(passes)
        if on < first
    ]
