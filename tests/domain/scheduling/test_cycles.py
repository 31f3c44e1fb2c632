"""Recurrences against RFC 5545, RFC 7529, dateutil's relativedelta and dateutil's rrule."""

from __future__ import annotations

from datetime import date
from itertools import islice

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from scheduling.domain.cycles import (
    Cycle,
    CycleError,
    add_months,
    first_after,
    occurrence,
    parse_cycle,
    rrule_of,
)

ANCHORS = st.dates(date(1990, 1, 1), date(2060, 12, 31))
MONTH_ENDS = st.sampled_from(
    [
        date(2023, 1, 31),
        date(2024, 1, 31),
        date(2023, 8, 31),
        date(2024, 8, 31),
        date(2023, 3, 30),
        date(2024, 2, 29),
        date(2023, 2, 28),
        date(2023, 1, 29),
    ]
)


def first(cycle: Cycle, anchor: date, number: int) -> list[date | None]:
    return [occurrence(cycle=cycle, anchor=anchor, number=each) for each in range(number)]


def test_the_31st_of_every_month_is_clamped_as_rfc_7529_skip_backward_asks() -> None:
    # RFC 7529, the Gregorian examples of SKIP: DTSTART 20140131, FREQ=MONTHLY;SKIP=BACKWARD;COUNT=4
    cycle = parse_cycle("FREQ=MONTHLY;COUNT=4")
    assert first(cycle, date(2014, 1, 31), 5) == [
        date(2014, 1, 31),
        date(2014, 2, 28),
        date(2014, 3, 31),
        date(2014, 4, 30),
        None,
    ]


def test_a_yearly_29_february_is_the_28th_in_common_years_and_comes_back() -> None:
    # RFC 7529, the Gregorian examples of SKIP: DTSTART 20120229, yearly
    assert first(parse_cycle("FREQ=YEARLY"), date(2012, 2, 29), 5) == [
        date(2012, 2, 29),
        date(2013, 2, 28),
        date(2014, 2, 28),
        date(2015, 2, 28),
        date(2016, 2, 29),
    ]


def test_semiannual_from_31_august_visits_february_and_returns_to_the_31st() -> None:
    assert first(parse_cycle("FREQ=MONTHLY;INTERVAL=6"), date(2023, 8, 31), 4) == [
        date(2023, 8, 31),
        date(2024, 2, 29),
        date(2024, 8, 31),
        date(2025, 2, 28),
    ]


@given(anchor=ANCHORS | MONTH_ENDS, months=st.integers(0, 240))
def test_adding_months_agrees_with_relativedelta(anchor: date, months: int) -> None:
    assert add_months(anchor, months) == anchor + relativedelta(months=months)


@given(
    anchor=ANCHORS | MONTH_ENDS,
    rule=st.sampled_from(
        [
            "FREQ=YEARLY",
            "FREQ=YEARLY;INTERVAL=3",
            "FREQ=MONTHLY",
            "FREQ=MONTHLY;INTERVAL=6",
            "FREQ=MONTHLY;INTERVAL=30",
            "FREQ=WEEKLY;INTERVAL=2",
            "FREQ=DAILY;INTERVAL=90",
        ]
    ),
)
def test_plain_steps_agree_with_dateutils_rule_clamped(anchor: date, rule: str) -> None:
    cycle = parse_cycle(rule)
    told = [moment.date() for moment in islice(iter(rrule_of(cycle=cycle, anchor=anchor)), 12)]
    assert first(cycle, anchor, 12) == told


@given(
    anchor=ANCHORS | MONTH_ENDS,
    months=st.sampled_from([1, 3, 6, 12, 24, 36, 60]),
    days=st.integers(-40, 4000),
)
def test_the_first_after_a_day_is_the_least_of_all_occurrences_after_it(
    anchor: date, months: int, days: int
) -> None:
    day = anchor + relativedelta(days=days)
    every = (anchor + relativedelta(months=months * step) for step in range(1, 200))
    wanted = next(when for when in every if when > day)
    cycle = parse_cycle(f"FREQ=MONTHLY;INTERVAL={months}")
    assert first_after(cycle, anchor, day) == wanted


@pytest.mark.parametrize(
    ("rule", "anchor", "wanted"),
    [
        ("FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=31", date(2024, 9, 30), date(2025, 5, 31)),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", date(2024, 9, 30), date(2025, 2, 28)),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", date(2023, 9, 30), date(2024, 2, 29)),
        ("FREQ=YEARLY;BYMONTH=1,6;BYMONTHDAY=31", date(2024, 2, 1), date(2024, 6, 30)),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", date(2024, 1, 31), date(2024, 2, 29)),
        ("FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=28,29,30,31;BYSETPOS=-1", date(2023, 11, 30),
         date(2024, 2, 29)),
    ],
)  # fmt: skip
def test_rules_with_parts_are_read_from_dateutil(rule: str, anchor: date, wanted: date) -> None:
    assert first_after(parse_cycle(rule), anchor, anchor) == wanted


def test_a_rule_that_has_ended_gives_no_day() -> None:
    assert (
        first_after(parse_cycle("FREQ=YEARLY;COUNT=2"), date(2024, 1, 1), date(2025, 1, 1)) is None
    )


@pytest.mark.parametrize(
    ("rule", "told"),
    [
        ("", "is not allowed here"),
        ("FREQ=HOURLY", "FREQ is HOURLY"),
        ("INTERVAL=2", "FREQ is missing"),
        ("FREQ=YEARLY;INTERVAL=0", "INTERVAL=0 is out of range"),
        ("FREQ=YEARLY;INTERVAL=121", "INTERVAL=121 is out of range"),
        ("FREQ=YEARLY;INTERVAL=-1", "INTERVAL=-1 is out of range"),
        ("FREQ=YEARLY;INTERVAL=1_0", "no whole number"),
        ("FREQ=YEARLY;UNTIL=20300101", "'UNTIL=20300101' is not allowed"),
        ("FREQ=YEARLY;FREQ=DAILY", "FREQ stands twice"),
        ("FREQ=WEEKLY;BYDAY=MO", "'BYDAY=MO' is not allowed"),
        ("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=31", "takes no BY parts"),
        ("FREQ=MONTHLY;BYSETPOS=-1", "give BYMONTHDAY too"),
        ("FREQ=YEARLY;BYMONTHDAY=31", "add BYMONTH"),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30,31", "never comes"),
        ("FREQ=YEARLY;INTERVAL=2;BYMONTH=1,6;BYMONTHDAY=31", "keep INTERVAL=1"),
        ("FREQ=YEARLY;BYMONTH=13", "BYMONTH=13 is out of range"),
    ],
)
def test_what_lies_outside_the_whitelist_is_refused_by_name(rule: str, told: str) -> None:
    with pytest.raises(CycleError, match=told):
        parse_cycle(rule)


@given(
    cycle=st.builds(
        Cycle,
        freq=st.sampled_from(["YEARLY", "MONTHLY", "WEEKLY", "DAILY"]),
        interval=st.integers(1, 120),
        count=st.none() | st.integers(1, 1000),
    )
)
def test_a_rule_reads_back_from_its_text(cycle: Cycle) -> None:
    assert parse_cycle(cycle.text) == cycle


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("FREQ=MONTHLY;INTERVAL=6", "6 months"),
        ("FREQ=YEARLY", "1 year"),
        ("FREQ=WEEKLY;INTERVAL=2", "2 weeks"),
    ],
)
def test_a_step_is_said_in_words(rule: str, words: str) -> None:
    assert parse_cycle(rule).words == words
