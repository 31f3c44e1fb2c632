"""The real ladders against the day-by-day oracle, for rungs of every kind.

Once with what is open on the day asked about and no more facts, and once while the facts happen
between the runs. Which letters leave, on which days, and whether the law's latest day is missed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import Any

import pytest

from tests.domain.every_rule import real_leavings, real_letters
from tests.oracle.every.cycles import Life
from tests.oracle.every.ladder import leavings, rungs_of
from tests.oracle.every.life import Story, as_known, kinds_walked, lived
from tests.oracle.every.making_stories import stories
from tests.oracle.every.turns import quiet_days
from tests.oracle.every.worked import LETTERS
from tests.oracle.every.worked.ladders import Letters

Letter = tuple[str, str, date, bool]


def run_days(random: Random, *, first: date, count: int, gaps: tuple[int, ...]) -> list[date]:
    found = [first]
    while len(found) < count:
        found.append(found[-1] + timedelta(days=random.choice(gaps)))
    return found


def my_leavings(
    life: Life, runs: list[date], before: list[tuple[str, date]]
) -> list[tuple[str, date, bool]]:
    return leavings(
        row=life["open"],
        rungs=rungs_of(life["book"], life["kind"], life["thing"]),
        quiet=quiet_days(life),
        holidays=life["holidays"],
        runs=runs,
        before=before,
    )


def ladder_differences(*, seed: int, count: int) -> tuple[int, list[tuple[Story, str, Any, Any]]]:
    """Letters that leave over sixty runs with gaps, from the day asked about on."""
    random, rows, found = Random(seed), 0, []
    for story in stories(seed=seed, count=count, books=40):
        runs = run_days(random, first=story.as_of, count=60, gaps=(1, 1, 1, 2, 7, 14))
        known = as_known(story)
        for kind in kinds_walked(known):
            life = lived(known, kind)
            if life["open"] and not life["idle_since"]:
                rows += 1
                mine, real = my_leavings(life, runs, []), real_leavings(story, kind, runs)
                if mine != real:
                    found.append((story, kind, mine, real))
    return rows, found


def my_letters(story: Story, runs: list[date]) -> list[Letter]:
    """The same while the facts happen; what left belongs to the obligation that was open then.

    An obligation is known by how many of its kind had closed before it.
    """
    left: dict[tuple[str, int], list[tuple[str, date]]] = {}
    found: list[Letter] = []
    for today in runs:
        known = as_known(replace(story, as_of=today, known=None))
        for kind in kinds_walked(known):
            life = lived(known, kind)
            if not life["open"] or life["idle_since"]:
                continue
            gone = left.setdefault((kind, len(life["closed"])), [])
            for key, on, is_late in my_leavings(life, [today], gone):
                gone.append((key, on))
                found.append((kind, key, on, is_late))
    return sorted(found, key=lambda each: (each[2], each[0]))


def in_order_of_time(story: Story) -> bool:
    """No pass before the installation: learned later, that would take closed rows away."""
    installed = min((fact.on for fact in story.facts if fact.word == "installed"), default=date.min)
    return all(fact.on >= installed for fact in story.facts if fact.word == "passed")


def installed_after_recording(story: Story) -> bool:
    """Learned later, the installation takes away what the recording had opened without a date.

    What opens instead has a key of its own; that it inherits what left is the stored rows' work.
    """
    return any(fact.word == "installed" and fact.on > story.recorded_on for fact in story.facts)


def told_stories(*, seed: int, count: int) -> Iterator[tuple[Story, list[date]]]:
    """Stories with at least two facts, and runs from before the first to after the last."""
    random = Random(seed)
    for story in stories(seed=seed, count=count, books=40):
        days = sorted(fact.on for fact in story.facts)
        if len(days) > 1 and in_order_of_time(story):
            runs = run_days(random, first=days[0], count=25, gaps=(1, 5, 30, 60, 90))
            if not installed_after_recording(story):
                yield story, runs


def letter_differences(*, seed: int, count: int) -> tuple[int, list[tuple[Story, Any, Any]]]:
    letters, found = 0, []
    for story, runs in told_stories(seed=seed, count=count):
        mine, real = my_letters(story, runs), real_letters(story, runs)
        letters += len(mine)
        if mine != real:
            found.append((story, mine, real))
    return letters, found


@pytest.mark.parametrize("told", LETTERS, ids=lambda told: told.name)
def test_the_ladder_lets_leave_what_the_hand_says(told: Letters) -> None:
    assert real_leavings(told.case.story, "test", told.runs) == told.expected, told.words


def test_ladders_of_every_kind_agree_with_the_oracle() -> None:
    rows, found = ladder_differences(seed=11, count=80)
    assert rows > 50
    assert found == []


def test_ladders_agree_with_the_oracle_while_facts_arrive_between_the_runs() -> None:
    letters, found = letter_differences(seed=21, count=25)
    assert letters > 50
    assert found == []


@pytest.mark.slow
@pytest.mark.bench
def test_ladders_of_every_kind_agree_with_the_oracle_on_thousands_of_rows() -> None:
    rows, found = ladder_differences(seed=12, count=3000)
    assert rows > 2000
    assert found == []


@pytest.mark.slow
@pytest.mark.bench
def test_thousands_of_letters_agree_while_facts_arrive_between_the_runs() -> None:
    letters, found = letter_differences(seed=22, count=1000)
    assert letters > 2000
    assert found == []
