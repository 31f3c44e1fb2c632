"""The letters that leave when the office runs on given days and everything owed leaves at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tests.oracle.dayloop import Fact, lived
from tests.oracle.ladder import Left, next_rung, owed_rung


@dataclass
class Mailed:
    """What left over all runs, in order, and what comes next after the last run."""

    order: Left = field(default_factory=list)
    next_rung: dict[str, Any] | None = None


def mailed(
    *,
    rulebook: str,
    kind: str,
    hazard: str,
    facts: Iterable[Fact],
    runs: Iterable[date],
    by_hand: frozenset[str] = frozenset(),
) -> Mailed:
    """Each rung with the day it left, over all runs; `by_hand` rungs never leave by themselves.

    Every run asks anew where the assembly stands. What left belongs to the obligation that was
    open then, known by how many had closed before it. Where an installation learned late takes
    closed rows away, what is open now is the successor of what was open, and inherits.
    """
    told = list(facts)
    mine: Left = []
    closed = 0
    found = Mailed()
    for today in runs:
        state = lived(rulebook=rulebook, kind=kind, hazard=hazard, facts=told, as_of=today)
        if len(state["closed"]) > closed:
            mine = []
        closed = len(state["closed"])
        row = state["open"] or state["coming"]
        if row is None or state["idle"]:
            found.next_rung = None
            continue
        rung = owed_rung(row=row, left=mine, today=today) if state["open"] else None
        if rung and rung not in by_hand:
            mine.append((rung, today))
            found.order.append((rung, today))
        found.next_rung = next_rung(row=row, left=mine, today=today)
    return found


def leavings(
    *, rulebook: str, kind: str, hazard: str, facts: Iterable[Fact], runs: Iterable[date]
) -> Left:
    """What left over all runs, each rung with its day."""
    return mailed(rulebook=rulebook, kind=kind, hazard=hazard, facts=facts, runs=runs).order
