"""Seeded random stories: what a subject is, which rulebooks hold, and what happened to it.

The days cluster where the rules turn, as in the teaching generator. Half of the stories change the
thing or the rulebook in mid-cycle. The same seed gives the same stories on any machine.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from random import Random

from tests.oracle.every.asking import Book, Thing
from tests.oracle.every.life import Story, Told
from tests.oracle.every.making_books import rulebook
from tests.oracle.generator import KIND_WEIGHTS, KINDS, asked_day, first_day, next_day
from tests.oracle.rules import days

LONG_AGO = date(1990, 1, 1)
TEST_WORDS = {
    "passed": 36, "failed": 12, "untestable": 6, "repaired": 8, "relocated": 5, "incident": 5,
    "installed": 3, "idled": 8, "resumed": 5, "reoccupied": 4, "dewinterised": 4, "extended": 5,
    "held": 4, "stopped": 2, "restarted": 2, "exempted": 4, "included": 2, "assessed": 2,
    "removed": 1,
}  # fmt: skip
FIRST_WORDS = {
    "installed": 55, "passed": 25, "failed": 4, "repaired": 3, "idled": 2, "incident": 2,
    "untestable": 2, "extended": 1, "assessed": 2, "exempted": 1, "removed": 1, "held": 1,
}  # fmt: skip
PREMISES_WORDS = {"assessed": 40, "extended": 8, "held": 6, "idled": 3, "resumed": 4, "removed": 1}
SERVICE_WORDS = {
    "unprotected": 40, "passed": 30, "extended": 8, "held": 6, "failed": 2, "eased": 8,
    "exempted": 5,
}  # fmt: skip
HINDRANCES = (
    "submerged", "test cocks missing", "relief valve running", "unapproved installation",
    "no access", "",
)  # fmt: skip
CAUSES = ("", "", "an objection", "a returned letter")
HOLIDAYS = frozenset(
    date(year, month, day)
    for year in range(2018, 2031)
    for month, day in ((1, 1), (5, 25), (7, 4), (9, 1), (11, 26), (11, 27), (12, 25))
)


def stories(*, seed: int, count: int, books: int = 60) -> Iterator[Story]:
    """`count` stories of one seed, told under so many rulebooks made by the same seed."""
    random = Random(seed)
    shelf = [rulebook(random, f"book-{number}") for number in range(books)]
    for _ in range(count):
        yield story(random, shelf)


def story(random: Random, shelf: list[Book]) -> Story:
    subject = random.choices(("assembly", "premises", "service connection"), (90, 5, 5))[0]
    first = thing(random, subject)
    facts = fact_run(random, subject)
    as_of = asked_day(random, [fact.on for fact in facts])
    random.shuffle(facts)
    things, books = turns(random, first, facts), editions(random, shelf, facts)
    learned = [written_down(random, on) for on, _ in (*things[1:], *books[1:])]
    then = as_of + days(random.choice((-200, -40, -5, 0, 30)))
    return Story(
        things=tuple(things),
        books=tuple(books),
        facts=tuple(with_moments(random, fact) for fact in facts),
        known=then if random.random() < 0.3 else None,
        learned=tuple(learned),
        as_of=as_of,
        recorded_on=as_of - days(random.choice((0, 0, 30, 300))),
        holidays=HOLIDAYS if random.random() < 0.7 else frozenset(),
    )


def with_moments(random: Random, fact: Told) -> Told:
    """The fact with the day it was written down, and for one in twelve the day it was withdrawn."""
    recorded = written_down(random, fact.on)
    is_wrong = random.random() < 0.08
    gone = recorded + days(random.choice((0, 3, 60, 400))) if is_wrong else None
    return replace(fact, recorded=recorded, withdrawn=gone)


def written_down(random: Random, on: date) -> date:
    """Mostly the same day, now and then much later."""
    return on + days(random.choice((0, 0, 0, 1, 20, 100, 500)))


def thing(random: Random, subject: str) -> Thing:
    return {
        "type": random.choices(KINDS, KIND_WEIGHTS)[0] if subject == "assembly" else None,
        "hazard": random.choice(("high", "low", "low", "not assessed")),
        "service": random.choice(("domestic", "irrigation", "fire", "")),
        "protects": random.choice(("containment", "containment", "isolation")),
        "use": random.choice(("", "Car wash", "school ", "office")),
        "residential": random.choice((None, True, False)),
        "chemicals": random.choice((None, True, False)),
        "part_year": random.choice((None, True, False)),
        "subject": subject,
    }


def turns(random: Random, first: Thing, facts: list[Told]) -> list[tuple[date, Thing]]:
    """The thing from ever, and for a third of them changed once or twice: hazard, type or use."""
    found = [(LONG_AGO, first)]
    for _ in range(random.choice((0, 0, 0, 1, 1, 2))):
        named = random.choice(("hazard", "hazard", "type", "use", "service", "residential"))
        other = thing(random, first["subject"])
        on = turning_day(random, facts)
        if on > found[-1][0]:
            found.append((on, found[-1][1] | {named: other[named]}))
    return found


def editions(random: Random, shelf: list[Book], facts: list[Told]) -> list[tuple[date, Book]]:
    found = [(LONG_AGO, random.choice(shelf))]
    for _ in range(random.choice((0, 0, 0, 1, 1, 2))):
        on = turning_day(random, facts)
        if on > found[-1][0]:
            found.append((on, random.choice(shelf)))
    return found


def turning_day(random: Random, facts: list[Told]) -> date:
    near = random.choice(facts).on if facts else date(2025, 1, 1)
    return near + days(random.choice((-1, 0, 1, 5, 40, 200, 300, 330, 350, 364, 365, 380, 500)))


def fact_run(random: Random, subject: str) -> list[Told]:
    words = {"assembly": TEST_WORDS, "premises": PREMISES_WORDS}.get(subject, SERVICE_WORDS)
    weights = FIRST_WORDS if subject == "assembly" else words
    facts: list[Told] = []
    on = first_day(random)
    for _ in range(random.choice((0, 1, 1, 2, 2, 3, 4, 5, 6, 7, 8, 10, 12))):
        word = random.choices(list(weights), list(weights.values()))[0]
        facts.append(told(random, word, on, subject))
        if word == "exempted" and random.random() < 0.7:
            on += days(random.randrange(1, 500))
            facts.append(Told(word="included", on=on))
        weights = words
        on = next_day(random, on)
    return facts


def told(random: Random, word: str, on: date, subject: str) -> Told:
    work = "test"
    if subject == "service connection":
        work = "protection"
    elif word in ("passed", "failed") and random.random() < 0.2:
        work = random.choice(("inspection", "internal inspection", "forward flow"))
    return Told(
        word=word,
        on=on,
        work=work if word in ("passed", "failed", "untestable", "eased") else "test",
        found_failed=word == "passed" and random.random() < 0.2,
        until=until(random, word, on),
        hindrance=random.choice(HINDRANCES) if word == "untestable" else "",
        cause=CAUSES[on.day % len(CAUSES)] if word in ("stopped", "restarted") else "",
    )


def until(random: Random, word: str, on: date) -> date | None:
    if word == "extended":
        return on + days(random.choice((5, 20, 30, 60, 90, 180, 400)))
    if word == "held":
        return on + days(random.choice((0, 1, 10, 45, 90, 200)))
    return None
