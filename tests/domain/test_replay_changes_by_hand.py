"""Replay rules 2, 9 and 10 worked by hand: what was known, what changed, what was extended."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ladders import LeftRung, rung_owed
from scheduling.domain.ledger import Ledger
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes
from scheduling.domain.standing import standing
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from tests.domain.replayed import LONG_AGO, rulebook

Dated = tuple[str, str]


def day(text: str) -> date:
    return date.fromisoformat(text)


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def ledger(
    *,
    kind: str,
    facts: list[Fact],
    as_of: str,
    hazards: list[Dated] | None = None,
    books: list[Dated] | None = None,
    known_at: datetime | None = None,
) -> Ledger:
    shapes = tuple(
        AttributesFrom(
            on=day(on), attributes=Attributes(type=AssemblyType(kind), hazard=Hazard(hazard))
        )
        for on, hazard in hazards or [("1990-01-01", "low")]
    )
    timeline = Timeline(
        attributes=shapes,
        rulebooks=tuple(
            RulebookFrom(on=day(on), rulebook=rulebook(name))
            for on, name in books or [(LONG_AGO.isoformat(), "plain-rolling")]
        ),
        recorded_on=day(as_of),
    )
    return replay(timeline=timeline, facts=facts, left={}, as_of=day(as_of), known_at=known_at)


def fact(word: str, on: str, **more: Any) -> Fact:
    return Fact(kind=FactKind(word), on=day(on), **more)


def dates(found: Ledger) -> tuple[str, str]:
    current = found.current
    assert current is not None
    return current.opens_on.isoformat(), current.due_on.isoformat()


PASSED = fact("passed", "2025-05-10")


@pytest.mark.parametrize(
    ("assessed_on", "as_of", "expected", "words"),
    [
        (
            "2025-08-01",
            "2025-08-02",
            ("2025-09-11", "2025-11-10"),
            "10 May + 6 months = 10 Nov, later than 1 Aug + 30 = 31 Aug: no floor.",
        ),
        (
            "2025-11-01",
            "2025-11-02",
            ("2025-11-01", "2025-12-01"),
            "10 Nov is floored at 1 Nov + 30 = 1 Dec; it cannot have opened before the finding.",
        ),
        (
            "2026-02-01",
            "2026-02-02",
            ("2026-02-01", "2026-03-03"),
            "10 Nov 2025 is floored at 1 Feb + 30: 27 to the 28th, 3 more.",
        ),
        (
            "2026-04-20",
            "2026-04-21",
            ("2026-03-11", "2026-05-10"),
            "1 year was due 10 May 2026; 20 Apr + 30 is later, and a floor moves nothing later.",
        ),
    ],
)
def test_a_hazard_found_high_shortens_the_cycle_but_gives_thirty_days(
    assessed_on: str, as_of: str, expected: tuple[str, str], words: str
) -> None:
    hazards = [("1990-01-01", "low"), (assessed_on, "high")]
    assert dates(ledger(kind="RP", facts=[PASSED], as_of=as_of, hazards=hazards)) == expected, words


def test_a_hazard_found_low_lengthens_the_open_one() -> None:
    # High: 10 Nov 2025, open since 11 Sep. Low from 1 Oct: one year from the pass, 10 May 2026.
    hazards = [("1990-01-01", "high"), ("2025-10-01", "low")]
    found = ledger(kind="RP", facts=[PASSED], as_of="2025-10-02", hazards=hazards)
    assert dates(found)[1] == "2026-05-10"


def test_closed_obligations_keep_what_held_when_they_closed() -> None:
    # Low until 1 Aug 2026: due 10 May 2026, met on 1 May. High afterwards: 1 Nov 2026.
    hazards = [("1990-01-01", "low"), ("2026-08-01", "high")]
    facts = [PASSED, fact("passed", "2026-05-01")]
    found = ledger(kind="RP", facts=facts, as_of="2026-08-02", hazards=hazards)
    assert [row.due_on for row in found.obligations] == [day("2026-05-10")]
    assert dates(found) == ("2026-09-02", "2026-11-01")


def test_the_cure_has_the_days_of_the_hazard_on_the_day_of_the_failure() -> None:
    hazards = [("1990-01-01", "low"), ("2025-06-05", "high")]
    facts = [PASSED, fact("failed", "2025-06-01")]
    found = ledger(kind="DC", facts=facts, as_of="2025-06-10", hazards=hazards)
    assert found.current is not None
    assert found.current.cure_by == day("2025-06-22")  # 1 June + 21, low that day


EXTENDED = [fact("passed", "2024-06-15"), fact("extended", "2025-06-20", until=day("2025-08-01"))]


def test_an_extension_moves_the_due_date_and_keeps_the_opening() -> None:
    found = ledger(kind="DC", facts=EXTENDED, as_of="2025-06-20")
    assert dates(found) == ("2025-04-16", "2025-08-01")
    assert standing(found, day("2025-08-01")).value == "due"
    assert standing(found, day("2025-08-02")).value == "overdue"


@pytest.mark.parametrize(
    ("left", "today", "owed"),
    [
        # First overdue left on 16 June: the next rung is the second, the day after the new date.
        ([("first-overdue", "2025-06-16")], "2025-08-01", None),
        ([("first-overdue", "2025-06-16")], "2025-08-02", "second-overdue"),
        # Nothing left, but it was overdue when extended: never back to courtesy.
        ([], "2025-07-20", None),
        ([], "2025-08-02", "first-overdue"),
    ],
)
def test_after_an_extension_the_ladder_resumes_at_the_next_rung(
    left: list[Dated], today: str, owed: str | None
) -> None:
    found = ledger(kind="DC", facts=EXTENDED, as_of=today)
    assert found.current is not None
    step = rung_owed(
        ladder=rulebook("plain-rolling").ladder,
        obligation=found.current,
        left=[LeftRung(rung=rung, left_on=day(on)) for rung, on in left],
        today=day(today),
    )
    assert (step.rung.key if step else None) == owed


def test_three_questions_have_three_answers() -> None:
    # The pass of 1 June is recorded on 20 June; on 10 June nobody knew it.
    facts = [
        fact("passed", "2024-06-05", recorded_at=moment("2024-06-05")),
        fact("passed", "2025-06-01", recorded_at=moment("2025-06-20")),
    ]
    then = moment("2025-06-10T23:59:59")
    as_then_known = ledger(kind="DC", facts=facts, as_of="2025-06-10", known_at=then)
    as_now_known = ledger(kind="DC", facts=facts, as_of="2025-06-10")
    assert standing(as_then_known, day("2025-06-10")).value == "overdue"
    assert standing(as_now_known, day("2025-06-10")).value == "good"


def test_a_fact_withdrawn_later_still_counts_as_then_known() -> None:
    facts = [
        fact("passed", "2024-06-05", recorded_at=moment("2024-06-05")),
        fact(
            "passed",
            "2025-06-01",
            recorded_at=moment("2025-06-02"),
            withdrawn_at=moment("2025-07-01"),
        ),
    ]
    as_then_known = ledger(
        kind="DC", facts=facts, as_of="2025-06-10", known_at=moment("2025-06-11")
    )
    as_now_known = ledger(kind="DC", facts=facts, as_of="2025-06-10")
    assert standing(as_then_known, day("2025-06-10")).value == "good"
    assert standing(as_now_known, day("2025-06-10")).value == "overdue"
    assert as_now_known == ledger(kind="DC", facts=facts[:1], as_of="2025-06-10")


def test_a_repair_inside_a_report_opens_no_test_of_its_own() -> None:
    # Rule 1: found failing, mended and passed in one report of 1 June.
    facts = [
        fact("passed", "2025-01-10"),
        fact("passed", "2025-06-01", found_failed=True, repaired_inside=True),
    ]
    found = ledger(kind="DC", facts=facts, as_of="2025-06-02")
    assert [row.due_on for row in found.obligations] == [day("2026-01-10")]
    assert dates(found) == ("2026-04-02", "2026-06-01")


@pytest.mark.parametrize(
    ("failed_at", "passed_at", "expected"),
    [("09:00", "15:00", "good"), ("15:00", "09:00", "failed")],
)
def test_on_one_day_the_time_decides(failed_at: str, passed_at: str, expected: str) -> None:
    at = {"failed": failed_at, "passed": passed_at}
    facts = [fact("passed", "2025-01-10")]
    for word, time in at.items():
        moment_of_day = datetime.strptime(time, "%H:%M").replace(tzinfo=UTC).time()
        facts.append(fact(word, "2025-06-01", at=moment_of_day))
    found = ledger(kind="DC", facts=facts, as_of="2025-06-02")
    assert standing(found, day("2025-06-02")).value == expected
