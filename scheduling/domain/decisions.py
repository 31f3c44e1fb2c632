"""A person's decision for one subject or a group: an extension, a hold, an exemption, an end."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from scheduling.domain.fact_checks import day_fault
from scheduling.domain.facts import Fact, FactKind

DECIDED = frozenset(
    {
        FactKind.EXTENDED,
        FactKind.HELD,
        FactKind.STOPPED,
        FactKind.RESTARTED,
        FactKind.IDLED,
        FactKind.EXEMPTED,
        FactKind.INCLUDED,
    }
)
"""The facts that a person decides, each with a reason and an approver."""

OF_ASSEMBLIES_ONLY = frozenset({FactKind.IDLED})
"""Decisions that mean nothing for a survey, or for the protection of a service."""

NEEDS_AN_END = frozenset({FactKind.EXTENDED, FactKind.HELD})
NEEDS_A_REVIEW = frozenset({FactKind.IDLED, FactKind.EXEMPTED})


_WORDS = {"assembly": "", "premises": "premises ", "connection": "service "}


class Subject(NamedTuple):
    """What a decision is about: an assembly, a service (`connection`) or a premises, by its id."""

    of: str
    pk: int

    @property
    def word(self) -> str:
        """How a decision names it among its members: `12`, `premises 12`, `service 12`."""
        return f"{_WORDS[self.of]}{self.pk}"

    @classmethod
    def read(cls, word: str) -> Subject:
        """Return the subject of a word. Raises ValueError for any other word."""
        head, _, number = word.rpartition(" ")
        of = next((of for of, said in _WORDS.items() if said.strip() == head), None)
        if of is None:
            raise ValueError(f"{word!r} names no assembly, service or premises.")
        return cls(of, int(number))


class DecisionError(ValueError):
    """A decision that cannot be kept: every fault with its field, nothing is made of it."""

    def __init__(self, faults: dict[str, str]) -> None:
        super().__init__(" ".join(faults.values()))
        self.faults = faults


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What is decided, for whom, why, by whom, from when and until when.

    `until` is the end of an extension or a hold, and the review day of an idle time or an
    exemption. `group` names a group: a street under construction, a disaster declaration,
    one owner. `members` are whatever identifies the subjects to the caller; those that are no
    assemblies are words of `Subject`.
    """

    kind: FactKind
    on: date
    reason: str
    approved_by: str
    members: tuple[str, ...]
    until: date | None = None
    group: str = ""


def facts_of(decision: Decision) -> dict[str, Fact]:
    """Return a fact for each member; raise DecisionError, naming every fault, for none at all.

    Example: Elm Street, under construction from 2026-06-01 to 2026-08-31, held: each of its
    assemblies is held until 2026-08-31.
    """
    faults = decision_faults(decision)
    if faults:
        raise DecisionError(faults)
    fact = Fact(
        kind=decision.kind,
        on=decision.on,
        until=decision.until,
        reason=decision.reason.strip(),
        approved_by=decision.approved_by.strip(),
        group=decision.group.strip(),
    )
    return dict.fromkeys(decision.members, fact)


def decision_faults(decision: Decision) -> dict[str, str]:
    """Return what is wrong with a decision, a sentence for each field."""
    found = {
        "kind": _kind_fault(decision),
        "on": day_fault(decision.on, what=f"{decision.kind} on"),
        "reason": "" if decision.reason.strip() else "Give the reason of the decision.",
        "approved_by": "" if decision.approved_by.strip() else "Name who approved it.",
        "members": _member_fault(decision),
        "until": _end_fault(decision),
    }
    return {field: said for field, said in found.items() if said}


def _kind_fault(decision: Decision) -> str:
    if decision.kind not in DECIDED:
        return f"{decision.kind} is no decision."
    others = tuple(word for word in _WORDS.values() if word)
    if decision.kind in OF_ASSEMBLIES_ONLY and any(m.startswith(others) for m in decision.members):
        return (
            f"{decision.kind} is said of assemblies: leave surveys and services out, or hold them."
        )
    return ""


def _member_fault(decision: Decision) -> str:
    if not decision.members:
        return "Nobody is in it: choose at least one."
    twice = sorted(each for each, times in Counter(decision.members).items() if times > 1)
    return f"{', '.join(twice)} stands twice in the list: keep one." if twice else ""


def _end_fault(decision: Decision) -> str:
    until, kind = decision.until, decision.kind
    if until is None:
        if kind in NEEDS_AN_END:
            return f"{kind} from {decision.on} has no end: give its last day."
        if kind in NEEDS_A_REVIEW:
            return f"{kind} from {decision.on} has no review day: say when to look again."
        return ""
    if until <= decision.on:
        return f"{kind} from {decision.on} ends on {until}, before it begins: exchange the days."
    return day_fault(until, what=f"{kind} until")
