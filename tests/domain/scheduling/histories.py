"""Histories written as a person would, and replayed under a rulebook by name or changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time
from functools import cache
from pathlib import Path

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ladders import LeftRung
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, Rulebook
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline

FOLDER = Path(__file__).parents[3] / "fixtures" / "rulebooks"
START = date(1990, 1, 1)
LOW_DC = Attributes(type=AssemblyType.DC, hazard=Hazard.LOW)
HIGH_RP = Attributes(type=AssemblyType.RP, hazard=Hazard.HIGH)
INCIDENT = """
[[event]]
id = "after incident"
event = "incident"
days = 5
citation = "WAC 246-290-490(7): tested after a backflow incident (days invented)"
"""
ON_RETURN = """
[[event]]
id = "on return"
event = "resumed"
days = 3
citation = "Crossville TN: tested on return to service (days invented)"
"""
INSPECTION = """
[[kind]]
name = "inspection"
met_by = ["inspection", "internal inspection"]

[[cycle]]
id = "inspected"
kind = "inspection"
regime = "rolling"
every = "FREQ=MONTHLY;INTERVAL=30"
opens_days = 30
citation = "Toledo OH 204.09: DC opened for internal inspection every 30 months"
"""
BOOKS = ("plain-rolling", "plain-anniversary", "plain-season")


@cache
def text_of(name: str) -> str:
    """The TOML of a shipped rulebook."""
    return (FOLDER / f"{name}.toml").read_text(encoding="utf-8")


@cache
def book(name: str) -> Rulebook:
    """A shipped rulebook."""
    return read_rulebook(text_of(name))


def with_rules(name: str, toml: str) -> Rulebook:
    """A shipped rulebook with more rules added at its end."""
    return read_rulebook(text_of(name) + toml)


def changed(name: str, *swaps: tuple[str, str]) -> Rulebook:
    """A shipped rulebook with lines exchanged, each of which must be there."""
    text = text_of(name)
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new)
    return read_rulebook(text)


def facts(words: str) -> list[Fact]:
    """Facts from `installed 2024-03-01, passed 2024-03-04 14:30`; the order is the recorded one."""
    found = []
    for number, piece in enumerate(filter(None, (part.strip() for part in words.split(",")))):
        word, on, *rest = piece.split()
        fact = Fact(kind=FactKind(word), on=date.fromisoformat(on), sequence=number)
        for each in rest:
            if each.startswith("until="):
                fact = replace(fact, until=date.fromisoformat(each.removeprefix("until=")))
            else:
                fact = replace(fact, at=time.fromisoformat(each))
        found.append(fact)
    return found


def timeline(
    rulebook: Rulebook | Sequence[RulebookFrom],
    attributes: Attributes | Sequence[AttributesFrom] = LOW_DC,
    *,
    recorded_on: date,
) -> Timeline:
    """A timeline from one thing that always held, or from dated ones."""
    shapes = (
        (AttributesFrom(on=START, attributes=attributes),)
        if isinstance(attributes, Attributes)
        else tuple(attributes)
    )
    books = (
        (RulebookFrom(on=START, rulebook=rulebook),)
        if isinstance(rulebook, Rulebook)
        else tuple(rulebook)
    )
    return Timeline(attributes=shapes, rulebooks=books, recorded_on=recorded_on)


def walked(
    rulebook: str | Rulebook | Sequence[RulebookFrom],
    told: str | Sequence[Fact],
    *,
    as_of: str,
    attributes: Attributes | Sequence[AttributesFrom] = LOW_DC,
    left: Mapping[ObligationKey, Sequence[LeftRung]] | None = None,
    known_at: datetime | None = None,
) -> Ledger:
    """The ledger of a history as of a day."""
    day = date.fromisoformat(as_of)
    chosen = book(rulebook) if isinstance(rulebook, str) else rulebook
    return replay(
        timeline=timeline(chosen, attributes, recorded_on=day),
        facts=facts(told) if isinstance(told, str) else told,
        left=left or {},
        as_of=day,
        known_at=known_at,
    )


def line(obligation: Obligation) -> str:
    """One obligation as `opens 2024-03-01 due 2024-03-11 cure 2024-03-08 met 2024-03-04`."""
    words = f"opens {obligation.opens_on} due {obligation.due_on}"
    if obligation.cure_by is not None:
        words += f" cure {obligation.cure_by}"
    if obligation.closed_how is not None:
        words += f" {obligation.closed_how} {obligation.closed_on}"
    return words


def lines(ledger: Ledger) -> list[str]:
    """The obligations opened by the day, oldest first, then the coming one in brackets."""
    return [
        *(line(each) for each in ledger.obligations),
        *(f"({line(each)})" for each in ledger.coming),
    ]
