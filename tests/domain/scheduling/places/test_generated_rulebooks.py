"""What holds for every history under every kind of rule, and for every rulebook written out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.domain.facts import Fact
from scheduling.domain.ladders import LeftRung, rung_owed
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import ObligationKey
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, Rulebook
from scheduling.domain.rulebook_checks import faults_of
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.rulebook_toml import write_rulebook
from scheduling.domain.standing import standing
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from tests.domain.scheduling.places.generated import FACTS, HOLIDAYS, SUBJECTS, rulebooks

AS_OF = date(2026, 6, 1)
THEN = datetime(2020, 1, 1, tzinfo=UTC)
RULEBOOKS = rulebooks()
slow = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
"""A generated rulebook takes a while to make; the examples are fewer than elsewhere."""


def numbered(facts: list[Fact]) -> list[Fact]:
    return [replace(fact, sequence=number) for number, fact in enumerate(facts)]


def ledger_of(
    book: Rulebook,
    what: Attributes,
    facts: list[Fact],
    *,
    as_of: date = AS_OF,
    holidays: frozenset[date] = frozenset(),
    known_at: datetime | None = None,
    left: dict[ObligationKey, list[LeftRung]] | None = None,
) -> Ledger:
    timeline = Timeline(
        attributes=(AttributesFrom(on=date(1990, 1, 1), attributes=what),),
        rulebooks=(RulebookFrom(on=date(1990, 1, 1), rulebook=book),),
        recorded_on=date(2026, 1, 1),
        holidays=holidays,
    )
    return replay(timeline=timeline, facts=facts, left=left or {}, as_of=as_of, known_at=known_at)


@slow
@given(book=RULEBOOKS)
def test_every_rulebook_written_reads_back_equal(book: Rulebook) -> None:
    assert faults_of(book) == []
    assert read_rulebook(write_rulebook(book)) == book


@slow
@given(book=RULEBOOKS, what=SUBJECTS, facts=FACTS, days=HOLIDAYS, seed=st.integers(0, 10**6))
def test_the_order_of_insertion_does_not_matter(
    book: Rulebook, what: Attributes, facts: list[Fact], days: frozenset[date], seed: int
) -> None:
    facts = numbered(facts)
    shuffled = facts[:]
    Random(seed).shuffle(shuffled)
    assert ledger_of(book, what, shuffled, holidays=days) == ledger_of(
        book, what, facts, holidays=days
    )


@slow
@given(book=RULEBOOKS, what=SUBJECTS, facts=FACTS)
def test_the_same_facts_twice_change_nothing(
    book: Rulebook, what: Attributes, facts: list[Fact]
) -> None:
    facts = numbered(facts)
    once, twice = ledger_of(book, what, facts), ledger_of(book, what, facts * 2)
    assert once.obligations == twice.obligations
    assert once.coming == twice.coming


@slow
@given(book=RULEBOOKS, what=SUBJECTS, facts=FACTS, more=FACTS)
def test_withdrawing_facts_equals_never_having_had_them(
    book: Rulebook, what: Attributes, facts: list[Fact], more: list[Fact]
) -> None:
    facts = numbered(facts)
    gone = [replace(fact, withdrawn_at=THEN) for fact in numbered(more)]
    assert ledger_of(book, what, [*facts, *gone]) == ledger_of(book, what, facts)


@slow
@given(book=RULEBOOKS, what=SUBJECTS, facts=FACTS, late=FACTS)
def test_a_late_fact_is_unknown_before_and_gives_a_full_replay_after(
    book: Rulebook, what: Attributes, facts: list[Fact], late: list[Fact]
) -> None:
    known = [replace(fact, recorded_at=THEN) for fact in numbered(facts)]
    arrived = [
        replace(fact, recorded_at=THEN + timedelta(days=9), sequence=100 + n)
        for n, fact in enumerate(late)
    ]
    everything = [*known, *arrived]
    assert ledger_of(book, what, everything, known_at=THEN) == ledger_of(book, what, known)
    after = ledger_of(book, what, everything, known_at=THEN + timedelta(days=9))
    assert after == ledger_of(book, what, everything)


@slow
@given(book=RULEBOOKS, what=SUBJECTS, facts=FACTS)
def test_at_most_one_of_a_kind_is_open_and_none_overlap(
    book: Rulebook, what: Attributes, facts: list[Fact]
) -> None:
    ledger = ledger_of(book, what, numbered(facts))
    for kind in ledger.kinds:
        mine = [each for each in ledger.obligations if each.kind == kind]
        both = [*mine, *(each for each in ledger.coming if each.kind == kind)]
        assert sum(each.is_open for each in mine) <= 1
        assert len({each.key for each in both}) == len(both)
        for one, other in pairwise(mine):
            assert one.closed_on is not None
            assert one.opens_on <= one.closed_on <= other.opens_on
    for each in ledger.obligations:
        assert (each.closed_on is None) == (each.closed_how is None) == each.is_open


@slow
@given(book=RULEBOOKS, what=SUBJECTS, facts=FACTS, days=st.integers(0, 600))
def test_the_standing_of_a_later_day_follows_from_the_dates(
    book: Rulebook, what: Attributes, facts: list[Fact], days: int
) -> None:
    told = [fact for fact in numbered(facts) if fact.on <= AS_OF]
    later = AS_OF + timedelta(days=days)
    then = ledger_of(book, what, told, as_of=later)
    assert standing(ledger_of(book, what, told), later) == standing(then, later)


@slow
@given(book=RULEBOOKS, what=SUBJECTS, facts=FACTS, gaps=st.lists(st.integers(1, 60), max_size=20))
def test_no_rung_leaves_twice_before_its_gap_while_paused_or_for_a_closed_one(
    book: Rulebook, what: Attributes, facts: list[Fact], gaps: list[int]
) -> None:
    facts, today = numbered(facts), date(2023, 1, 1)
    left: dict[ObligationKey, list[LeftRung]] = {}
    for gap in gaps:
        today += timedelta(days=gap)
        ledger = ledger_of(book, what, facts, as_of=today, left=left)
        for each in ledger.obligations:
            gone = left.setdefault(each.key, [])
            ladder = book.ladder_for(kind=each.kind, attributes=what)
            step = rung_owed(ladder=ladder, obligation=each, left=gone, today=today)
            if step is None:
                continue
            assert each.is_open
            assert not each.is_suspended
            assert not any(pause.holds(today) for pause in each.pauses)
            assert (step.rung.key, step.occurrence) not in {(g.rung, g.occurrence) for g in gone}
            if step.rung.after is not None:
                before = {g.rung: g.left_on for g in gone}
                assert (today - before[step.rung.after]).days >= step.rung.gap_days
            assert ledger.next_actions[each.key] <= today
            gone.append(LeftRung(rung=step.rung.key, left_on=today, occurrence=step.occurrence))


@slow
@given(
    first=RULEBOOKS,
    second=RULEBOOKS,
    what=SUBJECTS,
    facts=FACTS,
    on=st.dates(date(2020, 1, 1), AS_OF),
    seed=st.integers(0, 10**6),
)
def test_a_change_of_rulebook_keeps_order_overlap_and_the_days_of_transition(
    first: Rulebook, second: Rulebook, what: Attributes, facts: list[Fact], on: date, seed: int
) -> None:
    """Two versions, the second from a day on: what is closed keeps the version it closed under."""
    second = replace(second, edition=2)
    timeline = Timeline(
        attributes=(AttributesFrom(on=date(1990, 1, 1), attributes=what),),
        rulebooks=(
            RulebookFrom(on=date(1990, 1, 1), rulebook=first),
            RulebookFrom(on=on, rulebook=second),
        ),
        recorded_on=date(2026, 1, 1),
    )
    facts = numbered(facts)
    shuffled = facts[:]
    Random(seed).shuffle(shuffled)
    ledger = replay(timeline=timeline, facts=facts, left={}, as_of=AS_OF)
    assert replay(timeline=timeline, facts=shuffled, left={}, as_of=AS_OF) == ledger
    for kind in ledger.kinds:
        mine = [each for each in ledger.obligations if each.kind == kind]
        assert sum(each.is_open for each in mine) <= 1
        for one, other in pairwise(mine):
            assert one.closed_on is not None
            assert one.closed_on <= other.opens_on
        for each in mine:
            if each.closed_on is not None and each.closed_on < on:
                assert each.rulebook == first.label
            if each.is_open:
                assert each.rulebook == second.label
