"""Ladders that count from the due date, lived day by day, each date worked out by hand."""

from __future__ import annotations

from datetime import date

import pytest

from notices.models import Notice
from registry.models import Question
from tests.notices.ladders.story import Pace, Story, said

pytestmark = pytest.mark.django_db

OWNER = "Larch Court Apartments"


def test_oro_valley_az(pace: Pace) -> None:
    # 15-23-13: passed 15 June 2025, so due 15 June 2026. Notice at least 45 days before:
    # 15 June - 45 = 1 May. No report: second by certified mail at least 15 days before: 31 May.
    # Invented: overdue the day after, 16 June; final 14 days on, 30 June; order 14 on, 14 July.
    story = Story("oro-valley-az")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives(
        f"""
        2026-05-01 notice by mail to {OWNER}: Have it done by June 15, 2026.
        2026-05-31 second-notice by certified to {OWNER}: Have it done by June 15, 2026.
        2026-06-16 overdue by mail to {OWNER}: Have it done by June 30, 2026.
        2026-06-30 final by certified to {OWNER}: Have it done before July 14, 2026.
        2026-07-14 shutoff-order prepared
        """,
        start="2026-04-25", end="2026-07-20", pace=pace,
    )  # fmt: skip
    assert "Water may be shut off from July 14, 2026 on, and not before." in said(story.finals()[0])


def test_oro_valley_az_a_pass_between_ends_it(pace: Pace) -> None:
    # Passed on 20 May, inside the 45 days: met, the date stays; the next notice is of 2027.
    story = Story("oro-valley-az")
    one = story.stands("S1", ("passed", date(2025, 6, 15)))
    first = f"2026-05-01 notice by mail to {OWNER}: Have it done by June 15, 2026."
    story.lives(first, start="2026-04-25", end="2026-05-19", pace=pace)
    story.told(one, "passed", date(2026, 5, 20))
    story.lives("", start="2026-05-20", end="2026-07-31", pace=pace)


def test_oro_valley_az_a_notice_missed_goes_at_once_and_what_follows_waits(pace: Pace) -> None:
    # 15-23-13: at least 45 days before 15 June, so by 1 May. The office runs from 11 May on:
    # 10 days late. The second still leaves 15 days before, 31 May. What follows the due date
    # waits 10 days: 16 June + 10 = 26 June; final 10 July, order 24 July (invented).
    story = Story("oro-valley-az")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives(
        f"""
        2026-05-11 notice by mail to {OWNER}: Have it done by June 15, 2026.
        2026-05-31 second-notice by certified to {OWNER}: Have it done by June 15, 2026.
        2026-06-26 overdue by mail to {OWNER}: Have it done by July 10, 2026.
        2026-07-10 final by certified to {OWNER}: Have it done before July 24, 2026.
        2026-07-24 shutoff-order prepared
        """,
        start="2026-05-11", end="2026-07-30", pace=pace,
    )  # fmt: skip
    (told,) = Question.objects.filter(program=story.program, kind="late notice")
    assert told.text == (
        "notice had to leave by 2026-05-01 and leaves 2026-05-11 at the earliest: it goes at"
        " once, and a person looks at what follows from it."
    )
    overdue = Notice.objects.get(program=story.program, rung="overdue")
    assert "a notice in advance left 10 days late" in overdue.reasons[-1]["arithmetic"]


def test_willcox_az(pace: Pace) -> None:
    # 13.13.130: due 15 June 2026 (invented: a year after the pass), overdue 16 June: 15 days to
    # remedy. Certified at day 10: 26 June, shutoff in 5 days: turn-off notice 1 July, about
    # 2 days ahead of the day: order 3 July.
    story = Story("willcox-az")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives(
        f"""
        2026-06-16 notice by mail to {OWNER}: Have it done by June 26, 2026.
        2026-06-26 certified-notice by certified to {OWNER}: Have it done before July 1, 2026.
        2026-07-01 turn-off-notice by mail to {OWNER}: Have it done before July 3, 2026.
        2026-07-03 shutoff-order prepared
        """,
        start="2026-06-10", end="2026-07-10", pace=pace,
    )  # fmt: skip
    for final in story.finals():
        text = said(final)
        assert "Water may be shut off from July 3, 2026 on, and not before." in text
        assert "You may ask to be heard, in person or in writing, before July 3, 2026" in text


def test_willcox_az_a_pass_after_the_certified_notice_ends_it(pace: Pace) -> None:
    story = Story("willcox-az")
    one = story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives(
        f"""
        2026-06-16 notice by mail to {OWNER}: Have it done by June 26, 2026.
        2026-06-26 certified-notice by certified to {OWNER}: Have it done before July 1, 2026.
        """,
        start="2026-06-10", end="2026-06-29", pace=pace,
    )  # fmt: skip
    story.told(one, "passed", date(2026, 6, 30))
    story.lives("", start="2026-06-30", end="2026-07-20", pace=pace)


def test_placer_style(pace: Pace) -> None:
    # 2.07.090: 30 days of notice from 16 June: 16 July; a second of 14 days: 30 July; then
    # termination.
    story = Story("placer-style")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives(
        f"""
        2026-06-16 notice by mail to {OWNER}: Have it done by July 16, 2026.
        2026-07-16 second-notice by mail to {OWNER}: Have it done before July 30, 2026.
        2026-07-30 shutoff-order prepared
        """,
        start="2026-06-10", end="2026-08-05", pace=pace,
    )  # fmt: skip


def test_placer_style_a_quiet_case(pace: Pace) -> None:
    # Passed in time, on 10 June: nothing leaves.
    story = Story("placer-style")
    one = story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives("", start="2026-06-01", end="2026-06-09", pace=pace)
    story.told(one, "passed", date(2026, 6, 10))
    story.lives("", start="2026-06-10", end="2026-08-10", pace=pace)


def test_kansas_city_mo(pace: Pace) -> None:
    # 78-299: a due letter (invented: 30 days before, 16 May), a reminder (invented: the day
    # after due, 16 June), + 14 days off: 30 June. Back only with a booked or current test.
    story = Story("kansas-city-mo")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives(
        f"""
        2026-05-16 due-letter by mail to {OWNER}: Have it done by June 15, 2026.
        2026-06-16 reminder by mail to {OWNER}: Have it done before June 30, 2026.
        2026-06-30 shutoff-order prepared
        """,
        start="2026-05-10", end="2026-07-05", pace=pace,
    )  # fmt: skip
    text = said(story.finals()[0])
    assert "Water comes back only with a test that is booked or current" in text
    assert "Kansas City MO 78-299" in text


def test_sacramento_ca(pace: Pace) -> None:
    # 13.04.245: mailed at least 30 days before shutoff, to the customer and to "Occupant" at the
    # service address: overdue 16 June, so not before 16 July.
    story = Story("sacramento-ca")
    story.party("Brookfen Holdings", "customer", address="9 Elm Street", zip="99172")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.lives(
        """
        2026-06-16 shutoff-notice by mail to Brookfen Holdings: Have it done before July 16, 2026.
        2026-06-16 shutoff-notice by mail to Occupant: Have it done before July 16, 2026.
        2026-07-16 shutoff-order prepared
        """,
        start="2026-06-10", end="2026-07-20", pace=pace,
    )  # fmt: skip
    customer, occupant = story.finals()
    assert customer.address_lines[1] == "9 Elm Street"
    assert occupant.address_lines[:2] == ["Occupant", "230 Larch Court"]
    assert Notice.objects.filter(program=story.program, rung="shutoff-notice").count() == 1


def test_sacramento_ca_a_failed_test_has_30_days_from_the_notice_first(pace: Pace) -> None:
    # Policy handbook, from memory: repaired within 30 days of the notice: left 1 June, so 1 July.
    # Invented: to be cured 21 days after 1 June, 22 June. Shutoff notice 1 July, order 31 July.
    story = Story("sacramento-ca")
    one = story.stands("S1", ("passed", date(2025, 6, 15)))
    story.told(one, "failed", date(2026, 6, 1))
    story.lives(
        f"""
        2026-06-01 repair by mail to {OWNER}: Have it repaired and tested again by June 22, 2026.
        2026-07-01 shutoff-notice by mail to {OWNER}: Have it done before July 31, 2026.
        2026-07-01 shutoff-notice by mail to Occupant: Have it done before July 31, 2026.
        2026-07-31 shutoff-order prepared
        """,
        start="2026-06-01", end="2026-08-05", pace=pace,
    )  # fmt: skip
