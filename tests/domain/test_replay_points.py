"""The thirteen points of replay, each as a property of generated stories under generated rulebooks.

A story is drawn by its seed; rulebooks hold every kind of rule. Where a point is about one regime,
the rulebook is plain but for a generated cycle.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import Any

from dateutil.relativedelta import relativedelta
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import ClosedHow, Obligation, ObligationKey
from scheduling.domain.standing import Standing, standing
from tests.domain.every_rule import ledger_of
from tests.oracle.every.life import Story, Told
from tests.oracle.every.making_books import SEASONS
from tests.oracle.every.making_stories import stories
from tests.oracle.every.worked.shape import DC, LONG_AGO, book, cycle, event, season, within

points = settings(max_examples=80, deadline=None)
SEEDS = st.integers(0, 10**6)
DAYS = st.dates(date(2020, 1, 1), date(2026, 12, 31))


def drawn(seed: int) -> Story:
    """One story, told when everything is known."""
    (found,) = stories(seed=seed, count=1, books=3)
    return replace(found, known=None)


def told(rulebook: dict[str, Any], facts: list[Told], as_of: date, **more: Any) -> Ledger:
    """The ledger of a plain assembly under one rulebook."""
    return ledger_of(
        Story(
            things=((LONG_AGO, DC),),
            books=((LONG_AGO, rulebook),),
            facts=tuple(facts),
            as_of=as_of,
            recorded_on=as_of,
            **more,
        )
    )


def one(ledger: Ledger) -> Obligation:
    found = ledger.current
    assert found is not None
    return found


def keys_of(ledger: Ledger) -> list[ObligationKey]:
    return sorted(row.key for row in ledger.obligations)


def is_plain(story: Story) -> bool:
    """Known from its first fact, and nothing stated before the installation."""
    days = [fact.on for fact in story.facts]
    installed = [fact.on for fact in story.facts if fact.word == "installed"]
    return not days or not installed or min(installed) == min([*days, story.recorded_on])


@points
@given(seed=SEEDS)
def test_point_1_the_order_of_recording_within_a_day_does_not_matter(seed: int) -> None:
    story = drawn(seed)
    once = {(fact.word, fact.work, fact.on): fact for fact in story.facts}  # no twins of one day
    mixed = list(once.values())
    Random(seed).shuffle(mixed)
    assert ledger_of(replace(story, facts=tuple(mixed))) == ledger_of(
        replace(story, facts=tuple(once.values()))
    )


@points
@given(seed=SEEDS, back=st.integers(1, 900))
def test_point_2_what_opened_keeps_its_key_as_days_and_facts_go_on(seed: int, back: int) -> None:
    story = drawn(seed)
    assume(is_plain(story))
    earlier = replace(story, as_of=story.as_of - timedelta(days=back))
    before = {row.key: row.opens_on for row in ledger_of(earlier).obligations}
    after = {row.key: row.opens_on for row in ledger_of(story).obligations}
    assert before.items() <= after.items()


@points
@given(seed=SEEDS, word=st.sampled_from(["repaired", "relocated", "incident"]))
def test_point_3_an_event_makes_no_second_and_never_a_later_date(seed: int, word: str) -> None:
    story = drawn(seed)
    assume(is_plain(story) and all(fact.on < story.as_of for fact in story.facts))
    assume(all(on < story.as_of for on, _ in (*story.things[1:], *story.books[1:])))
    before = ledger_of(story)
    after = ledger_of(replace(story, facts=(*story.facts, Told(word=word, on=story.as_of))))
    for kind in before.kinds:
        then = before.open_of(kind) or before.coming_of(kind)
        now = after.open_of(kind) or after.coming_of(kind)
        if then is not None:
            assert now is not None
            assert now.due_on <= then.due_on
    for kind in after.kinds:
        assert sum(row.is_open for row in after.obligations if row.kind == kind) <= 1


@points
@given(on=DAYS, months=st.integers(1, 36), earlier=st.integers(1, 900))
def test_point_4_a_pass_meets_what_is_owed_and_the_next_counts_from_it(
    on: date, months: int, earlier: int
) -> None:
    facts = [Told(word="passed", on=on - timedelta(days=earlier)), Told(word="passed", on=on)]
    ledger = told(book(cycle(months=months)), facts, on)
    closed = [row.closed_how for row in ledger.obligations if row.closed_on == on]
    assert closed == [ClosedHow.MET]
    assert one(ledger).due_on == on + relativedelta(months=months)


@points
@given(anchor=DAYS, early=st.integers(0, 60), moves=st.lists(st.integers(0, 150), max_size=5))
def test_point_5_passes_in_the_window_or_late_never_move_the_anniversary(
    anchor: date, early: int, moves: list[int]
) -> None:
    facts = [Told(word="installed", on=anchor), Told(word="passed", on=anchor)]
    rulebook = book(cycle("anniversary", early=early, opens_days=early))
    for move in moves:
        due = one(told(rulebook, facts, facts[-1].on)).due_on
        facts.append(Told(word="passed", on=due + timedelta(days=move - early)))
    ledger = told(rulebook, facts, facts[-1].on)
    years = one(ledger).due_on.year - anchor.year
    assert one(ledger).due_on == anchor + relativedelta(years=years)
    assert one(ledger).due_on - timedelta(days=early) > facts[-1].on


@points
@given(on=DAYS, which=st.sampled_from(SEASONS), before=st.integers(0, 800))
def test_point_6_a_season_that_a_pass_counts_for_is_not_owed_after_it(
    on: date, which: dict[str, Any], before: int
) -> None:
    rulebook = book(season(**which))
    facts = [Told(word="installed", on=on - timedelta(days=before)), Told(word="passed", on=on)]
    owed = one(told(rulebook, facts, on))
    starts = which.get("credit_from") or which["opens"]
    cut_off = date(on.year, *starts)
    cut_off = cut_off if cut_off > on else date(on.year + 1, *starts)
    assert owed.due_on >= cut_off  # the credit that holds the pass ends before what is owed
    assert owed.due_on < cut_off + relativedelta(years=1)


@points
@given(on=DAYS, gap=st.integers(1, 40), again=st.integers(1, 40), days=st.integers(0, 60))
def test_point_7_a_second_failure_never_restarts_the_days_to_cure(
    on: date, gap: int, again: int, days: int
) -> None:
    first, second = on + timedelta(days=gap), on + timedelta(days=gap + again)
    facts = [Told(word="passed", on=on), Told(word="failed", on=first)]
    facts.append(Told(word="failed", on=second))
    owed = one(told(book(cures=[within(days)]), facts, second))
    assert (owed.failed_on, owed.cure_by) == (first, first + timedelta(days=days))
    cured = told(book(cures=[within(days)]), [*facts, Told(word="repaired", on=second)], second)
    assert one(cured).cure_by == owed.cure_by


@points
@given(seed=SEEDS, removed=st.booleans())
def test_point_8_nothing_is_owed_while_idle_and_nothing_after_removal(
    seed: int, removed: bool
) -> None:
    story = drawn(seed)
    last = Told(word="removed" if removed else "idled", on=story.as_of)
    ledger = ledger_of(replace(story, facts=(*story.facts, last)))
    later = story.as_of + timedelta(days=400)
    if removed:
        assert ledger.current is None
        assert standing(ledger, later) is Standing.REMOVED
        again = Told(word="passed", on=later)
        after = ledger_of(replace(story, facts=(*story.facts, last, again), as_of=later))
        assert keys_of(after) == keys_of(ledger)
        assert after.questions or story.things[0][1]["subject"] != "assembly"
    elif ledger.removed_on is None:
        assert ledger.next_actions == {}
        assert standing(ledger, later) in (Standing.IDLE, Standing.EXEMPT)


@points
@given(seed=SEEDS, other=SEEDS)
def test_point_9_a_change_leaves_the_days_of_transition_and_what_is_closed(
    seed: int, other: int
) -> None:
    story = drawn(seed)
    assume(is_plain(story) and all(fact.on < story.as_of for fact in story.facts))
    assume(all(on < story.as_of for on, _ in (*story.things[1:], *story.books[1:])))
    assume(story.recorded_on < story.as_of)
    new = drawn(other).books[0][1] | {"transition": [within(30)], "name": "new"}
    before = ledger_of(story)
    after = ledger_of(replace(story, books=(*story.books, (story.as_of, new)), learned=()))
    closed = [row for row in before.obligations if row.closed_on is not None]
    assert all(row in after.obligations for row in closed)
    for kind in after.kinds:
        then, now = before.open_of(kind), after.open_of(kind)
        if then is not None and now is not None and now.key == then.key:
            assert now.due_on >= min(then.due_on, story.as_of + timedelta(days=30))


@points
@given(on=DAYS, asked=st.integers(0, 500), more=st.integers(1, 300))
def test_point_10_an_extension_moves_the_due_date_and_keeps_the_key(
    on: date, asked: int, more: int
) -> None:
    facts = [Told(word="passed", on=on)]
    day = on + timedelta(days=asked)
    before = one(told(book(), facts, day))
    until = before.due_on + timedelta(days=more)
    after = one(told(book(), [*facts, Told(word="extended", on=day, until=until)], day))
    assert (after.key, after.opens_on, after.due_on) == (before.key, before.opens_on, until)
    assert after.courtesy_is_over == (before.due_on < day)


@points
@given(seed=SEEDS, back=st.integers(0, 900))
def test_point_11_work_of_one_kind_changes_nothing_of_another(seed: int, back: int) -> None:
    story = drawn(seed)
    assume(is_plain(story) and story.facts)
    on = max(min(fact.on for fact in story.facts), story.as_of - timedelta(days=back))
    passed = Told(word="passed", on=on, work="internal inspection")
    before = ledger_of(story)
    after = ledger_of(replace(story, facts=(*story.facts, passed)))
    met = {"internal inspection", "inspection"}

    def others(ledger: Ledger) -> list[Obligation]:
        rows = (*ledger.obligations, *ledger.coming)
        return sorted((row for row in rows if row.kind not in met), key=lambda row: row.key)

    assert others(before) == others(after)


@points
@given(on=DAYS, days=st.integers(0, 90), later=st.integers(0, 400))
def test_point_12_without_a_fact_it_opens_the_day_it_was_recorded(
    on: date, days: int, later: int
) -> None:
    story = Story(
        things=((LONG_AGO, DC),),
        books=((LONG_AGO, book(no_date=[within(days)])),),
        facts=(),
        as_of=on + timedelta(days=later),
        recorded_on=on,
    )
    owed = one(ledger_of(story))
    assert (owed.opens_on, owed.due_on) == (on, on + timedelta(days=days))
    assert owed.key.origin.value == "no date"


@points
@given(on=DAYS, closed=st.frozensets(DAYS, max_size=30), days=st.integers(0, 60))
def test_point_13_no_weekend_and_no_holiday_moves_a_date_of_calendar_days(
    on: date, closed: frozenset[date], days: int
) -> None:
    rulebook = book(events=[event("installed", days)], cures=[within(days)])
    facts = [
        Told(word="installed", on=on),
        Told(word="passed", on=on + timedelta(days=3)),
        Told(word="failed", on=on + timedelta(days=40)),
    ]
    day = on + timedelta(days=41)
    plain, closing = told(rulebook, facts, day), told(rulebook, facts, day, holidays=closed)
    assert closing.obligations == plain.obligations
    assert one(plain).due_on == on + timedelta(days=3) + relativedelta(years=1)
    assert one(plain).cure_by == on + timedelta(days=40 + days)
