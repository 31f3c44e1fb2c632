"""The facts of one day, done in the day's order."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from tests.oracle.every.asking import catches
from tests.oracle.every.changes import take_exemption, take_inclusion
from tests.oracle.every.cycles import Life, cycle_rule
from tests.oracle.every.passing import take_pass
from tests.oracle.every.turns import (
    RETURNS,
    current,
    event_rule,
    excuse,
    no_date_row,
    put,
    take_event,
    take_extension,
    take_failure,
    take_hold,
    take_installation,
    take_removal,
    take_restart,
    take_return,
    take_stop,
)

DAY_ORDER = [
    "assessed", "installed", "resumed", "reoccupied", "dewinterised", "included", "restarted",
    "relocated", "incident", "unprotected", "untestable", "failed", "repaired", "eased", "passed",
    "extended", "held", "stopped", "idled", "exempted", "removed",
]  # fmt: skip
EVENTS = {"relocated", "incident", "unprotected", "repaired"}
TESTS = {"passed", "failed", "untestable", "eased"}
Asks = Callable[[Life], bool]


def take_facts(life: Life, day: date, today: list[Any], asks: Asks) -> None:
    """Each of them once; a failure and a pass of one work without a repair: the failure wins."""
    today = one_pass_a_day(life, today)
    today = [fact for fact in today if not beaten(life, fact, today)]
    for fact in sorted(today, key=lambda fact: place(life, fact.word)):
        take_fact(life, fact, day, asks)


def place(life: Life, word: str) -> int:
    """The word's place in a day; an assessment meets a re-survey where a pass would."""
    is_pass = word == "assessed" and life["kind"] == "survey"
    return DAY_ORDER.index("passed" if is_pass else word)


def beaten(life: Life, fact: Any, today: list[Any]) -> bool:
    """A pass on the day of a failure of the same kind, apart from it and without a repair."""
    return (
        fact.word == "passed"
        and not fact.found_failed
        and not any(other.word == "repaired" for other in today)
        and any(is_of(life, other, "failed") for other in today)
        and is_of(life, fact, "passed")
    )


def is_of(life: Life, fact: Any, word: str) -> bool:
    """Is it such a report of work that meets this kind?"""
    return bool(fact.word == word and fact.work in works_of(life))


def one_pass_a_day(life: Life, today: list[Any]) -> list[Any]:
    """Of several passes of this kind on one day one counts: the one that found it failing."""
    passes = [fact for fact in today if is_of(life, fact, "passed")]
    kept = max(passes, key=lambda fact: fact.found_failed, default=None)
    return [fact for fact in today if fact not in passes or fact is kept]


def take_fact(life: Life, fact: Any, day: date, asks: Asks) -> None:
    works = works_of(life)
    is_mine = fact.word not in TESTS or fact.work in works
    if fact.word == "eased" and not is_mine:
        return
    if fact.word == "assessed":
        is_mine = "survey" in works
    start_without_dates(life, fact, day, asks, is_mine)
    if is_mine and (fact.word == "passed" or fact.word == "assessed"):
        take_pass(life, day, is_asked=asks(life), found_failed=fact.found_failed)
    elif fact.word == "installed":
        if asks(life):
            take_installation(life, day)
        else:
            life["installed"], life["anchor"], life["after_event"] = day, None, True
            life["first_asked"] = None
    elif fact.word in EVENTS:
        life["after_event"] = life["after_event"] or fact.word in ("repaired", "relocated")
        if asks(life):
            take_event(life, day, event_rule(life, fact.word, day))
    elif is_mine and (fact.word == "failed" or counts_as_failed(life, fact)):
        if asks(life):
            take_failure(life, day)
    else:
        take_other(life, fact, day, asks)


def works_of(life: Life) -> list[str]:
    """The kinds of work that meet this kind, by today's rulebook, else by any that names it."""
    named = [kind for book in (life["book"], *life["books"]) for kind in book["kinds"]]
    return next((list(kind["met_by"]) for kind in named if kind["name"] == life["kind"]), [])


def counts_as_failed(life: Life, fact: Any) -> bool:
    """What "could not be tested" counts as, by the first rule for what stood in the way."""
    if fact.word != "untestable":
        return False
    for rule in life["book"]["hindrances"]:
        is_of_it = not rule["hindrances"] or fact.hindrance in rule["hindrances"]
        if is_of_it and catches(rule, life["thing"]):
            return bool(rule["counts_as"] == "failed")
    return False


def start_without_dates(life: Life, fact: Any, day: date, asks: Asks, is_mine: bool) -> None:
    """The first fact of one without any date opens it, unless the fact itself brings a date."""
    if not asks(life) or current(life) is not None or cycle_rule(life) is None:
        return
    brings_a_date = fact.word in ("passed", "assessed") and is_mine
    if brings_a_date or (fact.word in TESTS and not is_mine):
        return
    if fact.word == "installed" or (fact.word in EVENTS and event_rule(life, fact.word, day)):
        return
    put(life, no_date_row(life, day), day)


def take_other(life: Life, fact: Any, day: date, asks: Asks) -> None:
    if fact.word in RETURNS:
        take_return(life, fact.word, day, is_asked=asks(life))
    elif fact.word == "idled":
        life["idle_since"] = life["idle_since"] or day
    elif fact.word == "exempted":
        take_exemption(life, day, is_asked=asks(life))
    elif fact.word == "included":
        take_inclusion(life, day, asks)
    elif fact.word == "extended":
        take_extension(life, day, fact.until)
    elif fact.word == "held":
        take_hold(life, day, fact.until)
    elif fact.word == "stopped":
        take_stop(life, day, fact.cause)
    elif fact.word == "restarted":
        take_restart(life, day, fact.cause)
    elif fact.word in BY_THE_DAY:
        BY_THE_DAY[fact.word](life, day)


def take_easing(life: Life, day: date) -> None:
    """Nothing asks for it any more: what is owed is excused, and not asked for again."""
    life["excused"] = None
    excuse(life, day)


BY_THE_DAY: dict[str, Callable[[Life, date], None]] = {
    "removed": take_removal,
    "eased": take_easing,
}
