"""The order in which waiting costs most, and which notices share a letter."""

from __future__ import annotations

from datetime import date

from notices.domain.owing import (
    OwedNotice,
    counting_occurrence,
    into_letters,
    stored_occurrence,
    urgency_of,
    within_quota,
)


def owed(
    number: int,
    *,
    to: str = "party:1",
    rung: str = "first-overdue",
    is_high: bool = False,
    has_failed: bool = False,
    late_from: date = date(2025, 9, 1),
    is_order: bool = False,
) -> OwedNotice:
    return OwedNotice(
        obligation_id=number,
        assembly_id=number,
        premises_id=number,
        rung=rung,
        occurrence="",
        owed_on=date(2025, 11, 3),
        recipient_key=to,
        urgency=urgency_of(
            obligation_id=number, is_high=is_high, has_failed=has_failed, late_from=late_from
        ),
        channel="mail",
        citation="",
        is_order=is_order,
    )


def ids(letters: object) -> list[list[int]]:
    return [[notice.obligation_id for notice in letter.owed] for letter in letters]  # type: ignore[attr-defined]


def test_failed_on_high_hazard_goes_first_then_high_hazard_then_longest_overdue() -> None:
    letters = into_letters(
        [
            owed(1, to="a", late_from=date(2025, 1, 1)),
            owed(2, to="b", late_from=date(2024, 1, 1)),
            owed(3, to="c", is_high=True),
            owed(4, to="d", is_high=True, has_failed=True),
            owed(5, to="e", has_failed=True, late_from=date(2025, 6, 1)),
        ]
    )
    assert ids(letters) == [[4], [3], [2], [1], [5]]


def test_one_letter_for_a_recipient_and_a_kind() -> None:
    letters = into_letters([owed(1), owed(2), owed(3, rung="reminder"), owed(4, to="party:2")])
    assert ids(letters) == [[1, 2], [3], [4]]


def test_an_order_speaks_of_one_premises() -> None:
    orders = [owed(n, rung="shutoff-order", is_order=True) for n in (1, 2)]
    assert ids(into_letters(orders)) == [[1], [2]]


def test_the_quota_counts_letters_not_notices() -> None:
    letters = into_letters([owed(1), owed(2), owed(3, to="b"), owed(4, to="c")])
    now, later = within_quota(letters, most=2)
    assert ids(now) == [[1, 2], [3]]
    assert ids(later) == [[4]]
    assert ids(within_quota(letters, most=None)[1]) == []
    assert ids(within_quota(letters, most=0)[0]) == []


def test_a_new_responsible_party_makes_lawful_rungs_count_no_more() -> None:
    since = date(2025, 10, 1)
    assert counting_occurrence("", lawful_since=None, is_courtesy=False) == ""
    assert counting_occurrence("", lawful_since=since, is_courtesy=False) is None
    assert counting_occurrence("", lawful_since=since, is_courtesy=True) == ""
    stored = stored_occurrence("2025-05-05", lawful_since=since)
    assert counting_occurrence(stored, lawful_since=since, is_courtesy=False) == "2025-05-05"
    later = date(2025, 12, 1)
    assert counting_occurrence(stored, lawful_since=later, is_courtesy=False) is None
