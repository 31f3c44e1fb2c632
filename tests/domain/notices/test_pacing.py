"""Quiet days, gathering, so many a day and moved groups, with their days worked out by hand.

None of it has a source in a law: it is how an office paces its letters (common practice). What
is checked is that nothing lawful waits and nothing is left out.
"""

from __future__ import annotations

from datetime import date

import pytest

from notices.domain.pacing import (
    Move,
    MoveBy,
    Span,
    Traits,
    first_open_day,
    gathered_until,
    place_in_order,
    street_of,
    through_on,
)

HIGH = Traits(
    hazard="high", street="Larch Court", zip="99171", kind="final", premises="230 Larch Court"
)
LOW = Traits(hazard="low", street="Birch Rd", zip="99004", kind="reminder", premises="9 Birch Rd")


@pytest.mark.parametrize(
    ("today", "before", "until"),
    [
        (date(2026, 1, 2), date(2026, 2, 1), date(2026, 1, 5)),  # the 5th is to come
        (date(2026, 1, 5), date(2026, 2, 1), None),  # it is the 5th
        (date(2026, 1, 20), date(2026, 3, 1), date(2026, 2, 5)),  # next month's
        (date(2026, 1, 20), date(2026, 2, 5), None),  # that would be the day itself: too late
        (date(2026, 1, 20), date(2026, 2, 6), date(2026, 2, 5)),  # the day before is in time
        (date(2026, 12, 31), date(2027, 2, 1), date(2027, 1, 5)),  # over the year's end
    ],
)
def test_a_gathered_letter_waits_for_its_day_but_never_to_the_day_it_reminds_of(
    today: date, before: date, until: date | None
) -> None:
    assert gathered_until(5, today=today, before=before) == until


def test_every_month_has_the_last_day_that_may_be_chosen() -> None:
    # February 2026 has 28 days.
    got = gathered_until(28, today=date(2026, 1, 29), before=date(2026, 6, 1))
    assert got == date(2026, 2, 28)


def test_a_letter_is_composed_for_the_first_day_that_is_not_quiet() -> None:
    spans = [
        Span(date(2026, 12, 24), date(2026, 12, 26)),
        Span(date(2026, 12, 27), date(2026, 12, 27)),
        Span(date(2026, 12, 30), date(2027, 1, 1)),
    ]
    assert first_open_day(date(2026, 12, 23), closed=spans) == date(2026, 12, 23)
    assert first_open_day(date(2026, 12, 24), closed=spans) == date(2026, 12, 28)
    assert first_open_day(date(2026, 12, 31), closed=reversed(spans)) == date(2027, 1, 2)


def test_four_thousand_at_a_hundred_a_day_are_through_on_the_fortieth_day() -> None:
    first = date(2026, 1, 5)
    assert through_on(4000, a_day=100, first=first) == date(2026, 2, 13)  # January 5 + 39
    assert through_on(4001, a_day=100, first=first) == date(2026, 2, 14)
    assert through_on(100, a_day=100, first=first) == first
    assert through_on(4000, a_day=None, first=first) == first


def test_of_two_moves_that_name_a_letter_the_later_holds() -> None:
    back = Move(group=MoveBy.STREET, value="larch court", is_forward=False)
    forward = Move(group=MoveBy.HAZARD, value="high", is_forward=True)
    assert place_in_order([HIGH], moves=[back, forward]) == (1, back)
    assert place_in_order([HIGH], moves=[forward, back]) == (-1, forward)
    assert place_in_order([LOW, HIGH], moves=[forward]) == (-1, forward)
    assert place_in_order([LOW], moves=[back, forward]) == (0, None)


@pytest.mark.parametrize(
    ("address", "street"),
    [
        ("230 Larch Court", "Larch Court"),
        ("230A Larch Court", "Larch Court"),
        ("12-14 Birch Rd", "Birch Rd"),
        ("Old Mill", "Old Mill"),
        ("1st Avenue", "1st Avenue"),
    ],
)
def test_a_street_is_an_address_without_its_number(address: str, street: str) -> None:
    assert street_of(address) == street
