"""The real replay against the day-by-day oracle, for every kind of rule a rulebook may hold.

No story is left out of the comparison: where the two differ, one of them misreads a rule.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from random import Random
from typing import Any

import pytest

from tests.domain.every_rule import real_answer, real_leavings
from tests.oracle.every.cycles import Life
from tests.oracle.every.ladder import leavings, rungs_of
from tests.oracle.every.life import Story, answer, kinds_walked, lived
from tests.oracle.every.making_stories import stories
from tests.oracle.every.turns import quiet_days
from tests.oracle.every.worked import CASES
from tests.oracle.every.worked.shape import Case, lines


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_replay_finds_what_the_hand_found(case: Case) -> None:
    found = real_answer(case.story)
    assert (found["standing"], lines(found)) == (case.standing, sorted(case.rows)), case.words


WANTED = (
    "installed, passed, failed, untestable, repaired, relocated, incident, idled, resumed,"
    "reoccupied, dewinterised, extended, held, stopped, restarted, exempted, included, assessed,"
    "removed, unprotected, rolling, anniversary, season, cap, late, month_end, repeats,"
    "hindrances, holidays, changes of the thing, changes of the rulebook, several kinds,"
    "no cure given, no grace given, working days, idle months, season without credit"
)


def differences(told: Iterable[Story]) -> list[tuple[Story, Any, Any]]:
    found = []
    for story in told:
        mine, real = answer(story), real_answer(story)
        if mine != real:
            found.append((story, mine, real))
    return found


@pytest.mark.parametrize("seed", [1, 2])
def test_replay_agrees_with_the_oracle_on_hundreds_of_stories(seed: int) -> None:
    assert differences(stories(seed=seed, count=150, books=40)) == []


@pytest.mark.slow
@pytest.mark.bench
@pytest.mark.parametrize("seed", range(101, 121))
def test_replay_agrees_with_the_oracle_on_twenty_thousand_stories(seed: int) -> None:
    assert differences(stories(seed=seed, count=1000)) == []


def ladder_differences(*, seed: int, count: int) -> tuple[int, list[tuple[Story, str, Any, Any]]]:
    """Letters that leave over sixty runs with gaps, from the day asked about on."""
    random, rows, found = Random(seed), 0, []
    for story in stories(seed=seed, count=count, books=40):
        day, runs = story.as_of, []
        for _ in range(60):
            runs.append(day)
            day += timedelta(days=random.choice((1, 1, 1, 2, 7, 14)))
        for kind in kinds_walked(story):
            life = lived(story, kind)
            if life["open"] and not life["idle_since"]:
                rows += 1
                mine, real = my_leavings(life, runs), real_leavings(story, kind, runs)
                if mine != real:
                    found.append((story, kind, mine, real))
    return rows, found


def my_leavings(life: Life, runs: list[date]) -> list[tuple[str, date]]:
    return leavings(
        row=life["open"],
        rungs=rungs_of(life["book"], life["kind"], life["thing"]),
        quiet=quiet_days(life),
        holidays=life["holidays"],
        runs=runs,
    )


def test_ladders_of_every_kind_agree_with_the_oracle() -> None:
    rows, found = ladder_differences(seed=11, count=80)
    assert rows > 50
    assert found == []


@pytest.mark.slow
@pytest.mark.bench
def test_ladders_of_every_kind_agree_with_the_oracle_on_thousands_of_rows() -> None:
    rows, found = ladder_differences(seed=12, count=3000)
    assert rows > 2000
    assert found == []


def test_the_stories_hold_every_kind_of_rule_and_fact() -> None:
    seen: Counter[str] = Counter()
    for story in stories(seed=1, count=300):
        seen.update(fact.word for fact in story.facts)
        seen["changes of the thing"] += len(story.things) > 1
        seen["changes of the rulebook"] += len(story.books) > 1
        seen["holidays"] += bool(story.holidays)
        for _, book in story.books:
            seen.update(name for name in ("repeats", "hindrances") if book[name])
            seen["several kinds"] += len(book["kinds"]) > 3
            seen["no cure given"] += not book["cures"]
            seen["no grace given"] += not book["grace"]
            seen["working days"] += any(rule["working"] for rule in book["events"])
            seen["idle months"] += any(rule.get("idle_months") for rule in book["events"])
            for rule in book["cycles"]:
                seen[rule["regime"]] += 1
                seen.update(name for name in ("cap", "late", "month_end") if rule.get(name))
                seen["season without credit"] += rule["regime"] == "season" and (
                    "credit_from" not in rule
                )
    assert {name for name in map(str.strip, WANTED.split(",")) if seen[name] < 5} == set()
