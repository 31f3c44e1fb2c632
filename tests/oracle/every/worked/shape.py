"""How a story worked by hand is written down, and the plain rulebook most of them live under."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from tests.oracle.every.asking import Book, Rule, Thing
from tests.oracle.every.life import Story, Told

LONG_AGO = date(1990, 1, 1)
DC: Thing = {
    "type": "DC",
    "hazard": "low",
    "service": "domestic",
    "protects": "containment",
    "use": "",
    "residential": None,
    "chemicals": None,
    "part_year": None,
    "subject": "assembly",
}


def within(number: int, *, working: bool = False, **more: Any) -> Rule:
    """A rule of so many days for everybody."""
    return {"days": number, "working": working, "who": {}} | more


def cycle(regime: str = "rolling", months: int = 12, **more: Any) -> Rule:
    """A cycle of the test for everybody, opening sixty days before it is due."""
    return {
        "kind": "test",
        "who": {},
        "regime": regime,
        "every": ("months", months),
        "opens_days": 60,
        "early": 0,
        "late": 0,
        "month_end": False,
    } | more


def season(opens: tuple[int, int], ends: tuple[int, int], **more: Any) -> Rule:
    """A season of the test for everybody."""
    return cycle("season", opens_days=0, opens=opens, ends=ends, **more)


def event(word: str, number: int, **more: Any) -> Rule:
    """An event after which a test is asked for within so many days."""
    return within(number, event=word, kind="test") | more


def book(*cycles: Rule, **more: Any) -> Book:
    """Due a year after the last pass; a first test in 10 days, cured in 21, 30 days else."""
    return {
        "name": "worked by hand",
        "kinds": [{"name": "test", "met_by": ["test"], "subject": "assembly"}],
        "cycles": list(cycles) or [cycle()],
        "events": [event("installed", 10)],
        "exempt": [],
        "cures": [within(21)],
        "grace": [within(10)],
        "no_date": [within(30)],
        "transition": [within(30)],
        "repeats": [],
        "hindrances": [],
        "rungs": [],
    } | more


@dataclass(frozen=True, kw_only=True)
class Case:
    """One story and what the rules make of it, with the arithmetic in words.

    `facts` is "passed 2025-03-05 mended, passed 2025-04-01 of inspection, held 2025-05-01
    until 2025-06-01"; `rows` is one line for each obligation: "test open 2025-06-01
    2026-01-10 cure 2025-06-22" or "test met 2025-06-01 2026-01-10 on 2025-06-05".
    """

    name: str
    rule: str  # the number of the rule in the guide to rulebooks, or of the replay point
    book: Book
    facts: str
    as_of: str
    standing: str
    rows: tuple[str, ...]
    words: str
    source: str = ""
    thing: Thing | None = None
    turns: tuple[tuple[str, Thing], ...] = ()
    books: tuple[tuple[str, Book], ...] = ()
    holidays: tuple[str, ...] = ()

    @property
    def story(self) -> Story:
        """The story as plain values; the subject was recorded on the day asked about."""
        first = DC | (self.thing or {})
        return Story(
            things=(
                (LONG_AGO, first),
                *((date.fromisoformat(on), first | new) for on, new in self.turns),
            ),
            books=(
                (LONG_AGO, self.book),
                *((date.fromisoformat(on), new) for on, new in self.books),
            ),
            facts=tuple(fact_of(text.strip()) for text in self.facts.split(",")),
            as_of=date.fromisoformat(self.as_of),
            recorded_on=date.fromisoformat(self.as_of),
            holidays=frozenset(date.fromisoformat(day) for day in self.holidays),
        )


def fact_of(text: str) -> Told:
    """The fact that "passed 2025-04-01 of internal inspection" stands for."""
    word, on, *rest = text.split(" ", 3)
    said = dict([rest]) if len(rest) == 2 else {}
    return Told(
        word=word,
        on=date.fromisoformat(on),
        work=said.get("of", "test"),
        found_failed=rest == ["mended"],
        until=date.fromisoformat(said["until"]) if "until" in said else None,
        hindrance=said.get("by", ""),
        cause=said.get("for", ""),
    )


def lines(answer: dict[str, Any]) -> list[str]:
    """An answer's obligations as the lines of a case, sorted."""
    found = [
        line(f"{kind} {how}", *answer[how][kind])
        for how in ("open", "coming")
        for kind in answer[how]
    ]
    for kind, opens_on, due_on, cure_by, on, how in answer["closed"]:
        found.append(f"{line(f'{kind} {how}', opens_on, due_on, cure_by)} on {on}")
    return sorted(found)


def line(start: str, opens_on: str, due_on: str, cure_by: str) -> str:
    return f"{start} {opens_on} {due_on}" + ("" if cure_by == "None" else f" cure {cure_by}")
