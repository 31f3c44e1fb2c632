"""The letters that leave when the office runs on given days and everything owed leaves at once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from tests.oracle.dayloop import Fact, lived
from tests.oracle.ladder import owed_rung


def leavings(
    *, rulebook: str, kind: str, hazard: str, facts: Iterable[Fact], runs: Iterable[date]
) -> list[tuple[str, date]]:
    """Each rung with the day it left, over all runs.

    Every run asks anew where the assembly stands. What left belongs to the obligation that was
    open then, known by how many had closed before it. Where an installation learned late takes
    closed rows away, what is open now is the successor of what was open, and inherits.
    """
    told = list(facts)
    mine: list[tuple[str, date]] = []
    closed = 0
    order: list[tuple[str, date]] = []
    for today in runs:
        state = lived(rulebook=rulebook, kind=kind, hazard=hazard, facts=told, as_of=today)
        if len(state["closed"]) > closed:
            mine = []
        closed = len(state["closed"])
        if state["open"] is None or state["idle"]:
            continue
        rung = owed_rung(row=state["open"], left=mine, today=today)
        if rung:
            mine.append((rung, today))
            order.append((rung, today))
    return order
