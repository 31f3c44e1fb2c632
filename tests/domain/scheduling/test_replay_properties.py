"""What holds for every history: order, idempotence, late facts, withdrawal, no overlap."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ladders import LeftRung, rung_owed
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import ClosedHow, ObligationKey
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.standing import standing
from tests.domain.scheduling.histories import (
    BOOKS,
    HIGH_RP,
    INCIDENT,
    INSPECTION,
    LOW_DC,
    ON_RETURN,
    book,
    timeline,
    with_rules,
)

THEN = datetime(2020, 1, 1, tzinfo=UTC)
AS_OF = date(2026, 6, 1)

RULEBOOKS = st.sampled_from(
    [*(book(name) for name in BOOKS)]
    + [with_rules(name, INCIDENT + ON_RETURN + INSPECTION) for name in BOOKS]
)
FACTS = st.lists(
    st.builds(
        Fact,
        kind=st.sampled_from(FactKind),
        on=st.dates(date(2019, 1, 1), date(2026, 12, 31))
        | st.sampled_from([date(2024, 2, 29), date(2023, 5, 31), date(2024, 9, 30), AS_OF]),
        at=st.none() | st.sampled_from([time(9), time(15)]),
        work=st.sampled_from(["test", "test", "inspection"]),
        found_failed=st.booleans(),
        repaired_inside=st.booleans(),
        until=st.dates(date(2019, 1, 1), date(2026, 12, 31)),
        recorded_at=st.just(THEN),
    ),
    max_size=12,
)
ATTRIBUTES = st.sampled_from([HIGH_RP, LOW_DC])


def numbered(facts: list[Fact]) -> list[Fact]:
    return [replace(fact, sequence=number) for number, fact in enumerate(facts)]


def ledger_of(rulebook: Rulebook, facts: list[Fact], *, as_of: date = AS_OF) -> Ledger:
    return replay(
        timeline=timeline(rulebook, recorded_on=date(2026, 1, 1)),
        facts=facts,
        left={},
        as_of=as_of,
    )


def known_then(rulebook: Rulebook, facts: list[Fact], *, known_at: datetime) -> Ledger:
    return replay(
        timeline=timeline(rulebook, recorded_on=date(2026, 1, 1)),
        facts=facts,
        left={},
        as_of=AS_OF,
        known_at=known_at,
    )


@given(rulebook=RULEBOOKS, facts=FACTS, seed=st.integers(0, 10**6))
def test_the_order_of_insertion_does_not_matter(
    rulebook: Rulebook, facts: list[Fact], seed: int
) -> None:
    facts = numbered(facts)
    shuffled = facts[:]
    Random(seed).shuffle(shuffled)
    assert ledger_of(rulebook, shuffled) == ledger_of(rulebook, facts)


@given(rulebook=RULEBOOKS, facts=FACTS)
def test_the_same_facts_twice_change_nothing(rulebook: Rulebook, facts: list[Fact]) -> None:
    facts = numbered(facts)
    assert ledger_of(rulebook, facts).obligations == ledger_of(rulebook, facts * 2).obligations


@given(rulebook=RULEBOOKS, facts=FACTS, more=FACTS)
def test_withdrawing_facts_equals_never_having_had_them(
    rulebook: Rulebook, facts: list[Fact], more: list[Fact]
) -> None:
    facts, more = numbered(facts), numbered(more)
    gone = [replace(fact, withdrawn_at=THEN + timedelta(days=1)) for fact in more]
    assert ledger_of(rulebook, [*facts, *gone]) == ledger_of(rulebook, facts)


@given(rulebook=RULEBOOKS, facts=FACTS, late=FACTS)
def test_facts_recorded_late_are_unknown_before_and_known_after(
    rulebook: Rulebook, facts: list[Fact], late: list[Fact]
) -> None:
    facts = numbered(facts)
    arrived = [replace(fact, recorded_at=THEN + timedelta(days=9)) for fact in numbered(late)]
    everything = [*facts, *arrived]
    before = known_then(rulebook, everything, known_at=THEN)
    assert before == known_then(rulebook, facts, known_at=THEN)
    after = known_then(rulebook, everything, known_at=THEN + timedelta(days=9))
    assert after == ledger_of(rulebook, everything)


@given(rulebook=RULEBOOKS, facts=FACTS, day=st.dates(date(2019, 1, 1), AS_OF))
def test_facts_after_the_day_asked_about_change_nothing(
    rulebook: Rulebook, facts: list[Fact], day: date
) -> None:
    facts = numbered(facts)
    until = [fact for fact in facts if fact.on <= day]
    assert ledger_of(rulebook, facts, as_of=day) == ledger_of(rulebook, until, as_of=day)


@settings(max_examples=300)
@given(rulebook=RULEBOOKS, facts=FACTS)
def test_at_most_one_is_open_and_none_overlap(rulebook: Rulebook, facts: list[Fact]) -> None:
    ledger = ledger_of(rulebook, numbered(facts))
    for kind in ledger.kinds:
        mine = [each for each in ledger.obligations if each.kind == kind]
        assert sum(each.is_open for each in mine) <= 1
        both = [*mine, *(each for each in ledger.coming if each.kind == kind)]
        assert len({each.key for each in both}) == len(both)
        for one, other in pairwise(mine):
            assert one.closed_on is not None
            assert one.opens_on <= one.closed_on <= other.opens_on


@given(rulebook=RULEBOOKS, facts=FACTS)
def test_closed_ones_say_how_and_only_open_ones_are_owed(
    rulebook: Rulebook, facts: list[Fact]
) -> None:
    ledger = ledger_of(rulebook, numbered(facts))
    for each in ledger.obligations:
        assert (each.closed_on is None) == (each.closed_how is None) == each.is_open
        assert each.closed_how is not ClosedHow.SUPERSEDED
        assert each.opens_on <= AS_OF
    if ledger.removed_on is not None or ledger.is_exempt:
        assert ledger.current is None


@given(rulebook=RULEBOOKS, facts=FACTS, days=st.integers(0, 900))
def test_the_standing_of_a_later_day_without_facts_follows_from_the_dates(
    rulebook: Rulebook, facts: list[Fact], days: int
) -> None:
    """The passing of a day changes no date: comparing stored dates is as good as replay."""
    settled = [fact for fact in numbered(facts) if fact.on <= AS_OF]
    ledger = ledger_of(rulebook, settled)
    later = AS_OF + timedelta(days=days)
    assert standing(ledger, later) == standing(ledger_of(rulebook, settled, as_of=later), later)


@settings(max_examples=60)
@given(rulebook=RULEBOOKS, facts=FACTS, gaps=st.lists(st.integers(1, 40), max_size=30))
def test_no_rung_leaves_twice_before_its_gap_or_for_a_closed_obligation(
    rulebook: Rulebook, facts: list[Fact], gaps: list[int]
) -> None:
    """Days are run with holes between them; what is owed leaves on the day it is owed."""
    facts = numbered(facts)
    today = date(2023, 1, 1)
    left: dict[ObligationKey, list[LeftRung]] = {}
    for gap in gaps:
        today += timedelta(days=gap)
        ledger = replay(
            timeline=timeline(rulebook, recorded_on=date(2026, 1, 1)),
            facts=facts,
            left=left,
            as_of=today,
        )
        for each in ledger.obligations:
            gone = left.setdefault(each.key, [])
            step = rung_owed(ladder=rulebook.ladder, obligation=each, left=gone, today=today)
            if step is None:
                continue
            assert each.is_open
            assert not each.is_suspended
            assert (step.rung.key, step.occurrence) not in {(g.rung, g.occurrence) for g in gone}
            before = {g.rung: g.left_on for g in gone}
            if step.rung.after is not None:
                assert (today - before[step.rung.after]).days >= step.rung.gap_days
            assert ledger.next_action_on is not None
            assert ledger.next_action_on <= today
            gone.append(LeftRung(rung=step.rung.key, left_on=today, occurrence=step.occurrence))
