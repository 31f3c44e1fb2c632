"""One kind of work of one subject, found by living through its days one after another.

A second reading of every kind of rule, kept as plain as possible: the state is a dict, each day is
visited, each fact of the day is done in the day's order. Nothing is shared with the replay.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tests.oracle.every.asking import Book, Rule, Thing, catches, first_of
from tests.oracle.every.changes import rules_of, take_change
from tests.oracle.every.cycles import Life, Row, cycle_rule
from tests.oracle.every.facts import take_facts
from tests.oracle.every.turns import no_date_row, open_what_opens, put
from tests.oracle.rules import days

LONG_AGO = date(1990, 1, 1)


@dataclass(frozen=True, kw_only=True)
class Told:
    """One fact: its word and day, what else its word needs, and when it was written down."""

    word: str
    on: date
    work: str = "test"
    found_failed: bool = False
    until: date | None = None
    hindrance: str = ""
    cause: str = ""
    recorded: date = LONG_AGO
    withdrawn: date | None = None


@dataclass(frozen=True, kw_only=True)
class Story:
    """What a subject is, which rulebooks hold, and what happened; the first of each from ever."""

    things: tuple[tuple[date, Thing], ...]
    books: tuple[tuple[date, Book], ...]
    facts: tuple[Told, ...]
    as_of: date
    recorded_on: date
    holidays: frozenset[date] = frozenset()
    known: date | None = None  # what was known at the end of that day; None: as known now
    learned: tuple[date, ...] = ()  # when each later thing, then each later book, was recorded


def as_known(story: Story) -> Story:
    """The story without what was written down later; what was withdrawn later still stands."""
    last = story.known or date.max
    facts = [
        fact
        for fact in story.facts
        if fact.recorded <= last and (fact.withdrawn is None or fact.withdrawn > last)
    ]
    later = [*story.things[1:], *story.books[1:]]
    learned = story.learned or (LONG_AGO,) * len(later)
    kept = [each for each, day in zip(later, learned, strict=True) if day <= last]
    return replace(
        story,
        facts=tuple(facts),
        things=(story.things[0], *(each for each in story.things[1:] if each in kept)),
        books=(story.books[0], *(each for each in story.books[1:] if each in kept)),
        known=None,
        learned=(),
    )


def answer(story: Story) -> dict[str, Any]:
    """What should be said of a subject: its standing, and each kind's obligations."""
    story = as_known(story)
    lives = [lived(story, kind) for kind in kinds_walked(story)]
    asked = [life for life in lives if asks(life)]
    main = asked[0] if asked else (lives[0] if lives else None)
    named = standing(main, bool(asked), story.as_of)
    return {
        "standing": named,
        "kind": main["kind"] if main and named not in ("removed", "exempt") else None,
        "open": {life["kind"]: dates(life["open"]) for life in lives if life["open"]},
        "coming": {life["kind"]: dates(life["coming"]) for life in lives if life["coming"]},
        "closed": sorted(
            (life["kind"], *dates(row), row["closed_on"], row["closed_how"])
            for life in lives
            for row in life["closed"]
        ),
    }


def dates(row: Row) -> tuple[str, str, str]:
    """The row's opening, due date and day to cure by, as text."""
    return str(row["opens_on"]), str(row["due_on"]), str(row["cure_by"])


def kinds_walked(story: Story) -> list[str]:
    """The kinds of every rulebook so far that a subject of this kind may have, today's first."""
    subject = story.things[0][1]["subject"]
    books = [book for n, (on, book) in enumerate(story.books) if n == 0 or on <= story.as_of]
    found: list[str] = []
    for book in reversed(books):
        for kind in book["kinds"]:
            if kind["subject"] == subject and kind["name"] not in found:
                found.append(kind["name"])
    return found


def lived(story: Story, kind: str) -> Life:
    """The state of one kind of work at the end of the day asked about."""
    life = fresh(story, kind)
    known = facts_that_count(story)
    mine = [fact.on for fact in known if concerns(story, fact, kind)]
    is_installed = any(fact.word == "installed" for fact in known)
    life["first_day"] = day = min([fact.on for fact in known] + [story.recorded_on])
    life["known_from"] = min([*mine, story.recorded_on])
    look_around(life, story, day)
    while day <= story.as_of and not life["removed"]:
        is_news = day < min(mine, default=date.max) and not is_installed
        life["is_recorded_today"] = is_news and day == story.recorded_on
        live_one_day(life, story, day, [fact for fact in known if fact.on == day])
        day += days(1)
    return life


def take_recording(life: Life, day: date) -> None:
    """Recorded, and nothing is known of it yet."""
    if asks(life) and cycle_rule(life) and not life["open"] and not life["coming"]:
        put(life, no_date_row(life, day), day)


def concerns(story: Story, fact: Told, kind: str) -> bool:
    """Work of another kind says nothing of this one; every other fact does."""
    if fact.word not in ("passed", "failed", "untestable", "eased"):
        return True
    kinds = [each for _, book in story.books for each in book["kinds"]]
    return any(fact.work in each["met_by"] for each in kinds if each["name"] == kind)


def facts_that_count(story: Story) -> list[Told]:
    """By the day asked about, told once each, without passes before the installation."""
    known = set(told_once([fact for fact in story.facts if fact.on <= story.as_of]))
    installed = [fact.on for fact in known if fact.word == "installed"]
    if installed:
        known -= {f for f in known if f.word == "passed" and f.on < min(installed)}
    return sorted(known, key=str)


def told_once(facts: list[Told]) -> list[Told]:
    """The same word of one work and cause twice on one day is one fact: the fullest, the latest."""
    kept: dict[tuple[Any, ...], Told] = {}
    for fact in facts:
        name = (fact.word, fact.work, fact.cause, fact.on)
        other = kept.get(name)
        if other and (other.found_failed, other.until or fact.on) > (
            fact.found_failed,
            fact.until or fact.on,
        ):
            continue
        kept[name] = fact
    return list(kept.values())


def fresh(story: Story, kind: str) -> Life:
    life: Life = {
        "kind": kind,
        "holidays": story.holidays,
        "books": [book for _, book in story.books],
        "open": None,
        "coming": None,
        "closed": [],
        "first_day": None,
        "installed": None,
        "first_pass": None,
        "last_pass": None,
        "anchor": None,
        "met": None,
        "after_event": False,
        "first_asked": None,
        "is_recorded_today": False,
        "rounds": [],
        "idle_since": None,
        "exempted": False,
        "excused": None,  # what was owed when it ceased to be asked for
        "removed": False,
        "holds": [],
        "stops": [],
        "stopping": set(),  # the causes that stop the clock today
        "told": [],
    }
    look_around(life, story, date.min)
    return life


def look_around(life: Life, story: Story, day: date) -> None:
    """Let the thing and the rulebook of a day hold."""
    life["thing"], life["book"] = holding(story, day)


def holding(story: Story, day: date) -> tuple[Thing, Book]:
    """Which thing and which rulebook hold on a day."""
    thing = [each for n, (on, each) in enumerate(story.things) if n == 0 or on <= day][-1]
    book = [each for n, (on, each) in enumerate(story.books) if n == 0 or on <= day][-1]
    return thing, book


def live_one_day(life: Life, story: Story, day: date, today: list[Told]) -> None:
    if holding(story, day) != (life["thing"], life["book"]):
        was_asked, old_rules = asks(life), rules_of(life)
        look_around(life, story, day)
        is_asked = asks(life)
        if day > life["first_day"]:
            take_change(life, day, was_asked=was_asked, is_asked=is_asked, old_rules=old_rules)
    if life["is_recorded_today"]:
        take_recording(life, day)
    if not life["idle_since"]:
        open_what_opens(life, day)
    take_facts(life, day, today, asks)


def asks(life: Life) -> bool:
    """Is this kind of work asked of the thing, by the rulebook and the people of today?"""
    return not life["exempted"] and law_asks(life)


def law_asks(life: Life) -> bool:
    mine: list[Rule] = [rule for rule in life["book"]["exempt"] if rule["kind"] == life["kind"]]
    if first_of(mine, life["thing"]):
        return False
    names = [kind["name"] for kind in life["book"]["kinds"]]
    if life["kind"] not in names:
        return False
    by_events = life["kind"] != names[0] and any(
        rule["kind"] == life["kind"] and catches(rule, life["thing"])
        for rule in life["book"]["events"]
    )
    return cycle_rule(life) is not None or by_events


def standing(life: Life | None, is_asked: bool, day: date) -> str:
    """The first name that holds, in the glossary's order."""
    if life is None:
        return "exempt"
    row = life["open"]
    claims = {
        "removed": life["removed"],
        "exempt": not is_asked,
        "idle": life["idle_since"],
        "failed": row and row["failed_on"],
        "overdue": row and row["due_on"] < day,
        "untested": not life["last_pass"],
        "due": row,
    }
    return next((name for name, holds in claims.items() if holds), "good")
