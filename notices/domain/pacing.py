"""When letters leave besides what their ladder says: quiet days, gathering, so many a day."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

LAST_DAY_OF_EVERY_MONTH = 28
LONGEST_HOLD = timedelta(days=183)
"""Longer than half a year is no hold but a program that is not live."""

_NUMBER = re.compile(r"^\s*\d+[A-Za-z]?(?:\s*[-/]\s*\d+)?\s+")


@dataclass(frozen=True, slots=True)
class Span:
    """Days from one up to and with another."""

    first: date
    last: date

    def holds(self, day: date) -> bool:
        """Return whether a day lies within."""
        return self.first <= day <= self.last


class MoveBy(StrEnum):
    """By what a group of letters is told that an office moves forward or back."""

    HAZARD = "hazard"
    STREET = "street"
    ZIP = "ZIP"
    KIND = "kind"
    PREMISES = "premises"


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A group that goes before all others, or after them."""

    group: MoveBy
    value: str
    is_forward: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """What a letter about one matter belongs to, for every way of grouping."""

    hazard: str
    street: str
    zip: str
    kind: str
    premises: str

    def of(self, group: MoveBy) -> str:
        """Return the value of one way of grouping."""
        return {
            MoveBy.HAZARD: self.hazard,
            MoveBy.STREET: self.street,
            MoveBy.ZIP: self.zip,
            MoveBy.KIND: self.kind,
            MoveBy.PREMISES: self.premises,
        }[group]


def first_open_day(day: date, *, closed: Iterable[Span]) -> date:
    """Return the day, or the first after it that lies in no span."""
    spans = sorted(closed, key=lambda span: span.first)
    for span in spans:
        if span.holds(day):
            day = span.last + timedelta(days=1)
    return day


def gathered_until(day_of_month: int, *, today: date, before: date) -> date | None:
    """Return the day a courtesy letter waits for, or None where it leaves today.

    It waits for the next such day of a month, but only if that lies before the day it reminds
    of: gathered on the 5th, owed January 20 for a test due February 3, it leaves at once.
    """
    day = today.replace(day=day_of_month)
    if day < today:
        day = (today.replace(day=1) + timedelta(days=32)).replace(day=day_of_month)
    return day if today < day < before else None


def place_in_order(traits: Sequence[Traits], *, moves: Sequence[Move]) -> tuple[int, Move | None]:
    """Return -1 before the others, 0, or 1 after them, and the move that decided.

    `moves` stand newest first: where two name a letter, the later one holds.
    """
    for move in moves:
        if any(one.of(move.group).casefold() == move.value.casefold() for one in traits):
            return (-1 if move.is_forward else 1), move
    return 0, None


def through_on(letters: int, *, a_day: int | None, first: date) -> date:
    """Return the day on which the last of so many letters goes, the first going on `first`."""
    if a_day is None or letters <= a_day:
        return first
    return first + timedelta(days=(letters - 1) // a_day)


def street_of(address: str) -> str:
    """Return the street of an address without its number: `230 Larch Court` is `Larch Court`."""
    return _NUMBER.sub("", address).strip() or address.strip()
