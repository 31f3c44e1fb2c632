"""The real replay against the day-by-day oracle, for every kind of rule a rulebook may hold.

No story is left out of the comparison: where the two differ, one of them misreads a rule.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

import pytest

from tests.domain.every_rule import ledger_of, real_answer
from tests.oracle.every.life import Story, answer
from tests.oracle.every.making_stories import stories
from tests.oracle.every.worked import CASES
from tests.oracle.every.worked.shape import Case, lines


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_replay_finds_what_the_hand_found(case: Case) -> None:
    found = real_answer(case.story)
    assert (found["standing"], lines(found)) == (case.standing, sorted(case.rows)), case.words


WANTED = (
    "installed, passed, failed, untestable, repaired, relocated, incident, idled, resumed,"
    "reoccupied, dewinterised, extended, held, stopped, restarted, exempted, included, assessed,"
    "removed, unprotected, eased, rolling, anniversary, season, cap, late, month_end, repeats,"
    "hindrances, holidays, changes of the thing, changes of the rulebook, several kinds,"
    "no cure given, no grace given, working days, idle months, season without credit, priority,"
    "latest, withdrawn, written down late, as then known"
)


NAMED = ("cap", "late", "month_end", "priority")


def differences(told: Iterable[Story]) -> list[tuple[Story, Any, Any]]:
    found = []
    for story in told:
        mine, real = answer(story), real_answer(story)
        if mine != real:
            found.append((story, mine, real))
    return found


def test_no_two_of_a_story_have_one_key_are_open_together_or_overlap() -> None:
    for story in stories(seed=3, count=150, books=40):
        ledger = ledger_of(story)
        for kind in ledger.kinds:
            mine = [each for each in ledger.obligations if each.kind == kind]
            both = [*mine, *(each for each in ledger.coming if each.kind == kind)]
            assert len({each.key for each in both}) == len(both), story
            assert sum(each.is_open for each in mine) <= 1, story
            for one, other in pairwise(mine):
                assert one.closed_on is not None, story
                assert one.opens_on <= one.closed_on <= other.opens_on, story


@pytest.mark.parametrize("seed", [1, 2])
def test_replay_agrees_with_the_oracle_on_hundreds_of_stories(seed: int) -> None:
    assert differences(stories(seed=seed, count=150, books=40)) == []


@pytest.mark.slow
@pytest.mark.bench
@pytest.mark.parametrize("seed", range(101, 121))
def test_replay_agrees_with_the_oracle_on_twenty_thousand_stories(seed: int) -> None:
    assert differences(stories(seed=seed, count=1000)) == []


def test_the_stories_hold_every_kind_of_rule_and_fact() -> None:
    seen: Counter[str] = Counter()
    for story in stories(seed=1, count=300):
        seen.update(fact.word for fact in story.facts)
        seen["changes of the thing"] += len(story.things) > 1
        seen["changes of the rulebook"] += len(story.books) > 1
        seen["holidays"] += bool(story.holidays)
        seen["as then known"] += story.known is not None
        seen["withdrawn"] += any(fact.withdrawn for fact in story.facts)
        seen["written down late"] += any(fact.recorded > fact.on for fact in story.facts)
        for _, book in story.books:
            seen.update(name for name in ("repeats", "hindrances") if book[name])
            seen["several kinds"] += len(book["kinds"]) > 3
            seen["no cure given"] += not book["cures"]
            seen["no grace given"] += not book["grace"]
            seen["latest"] += any("latest" in rung for rung in book["rungs"])
            seen["working days"] += any(rule["working"] for rule in book["events"])
            seen["idle months"] += any(rule.get("idle_months") for rule in book["events"])
            for rule in book["cycles"]:
                seen[rule["regime"]] += 1
                seen.update(name for name in NAMED if rule.get(name))
                seen["season without credit"] += rule["regime"] == "season" and (
                    "credit_from" not in rule
                )
    assert {name for name in map(str.strip, WANTED.split(",")) if seen[name] < 5} == set()
