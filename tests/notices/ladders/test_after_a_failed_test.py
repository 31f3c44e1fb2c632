"""Ladders that count from a failed test or from a receipt, lived day by day, dates by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from notices.actions.clocks import Day
from notices.delivery.receipts import record_delivered
from notices.models import Delivery, Letter
from registry.changes import Hand
from registry.console import Refused
from tests.notices.ladders.story import Pace, Story, said

pytestmark = pytest.mark.django_db

OWNER = "Larch Court Apartments"
PASSED = ("passed", date(2025, 6, 15))


def delivered(story: Story, rung: str, on: date) -> None:
    """The receipt of a rung's letter came back, and was recorded the same day."""
    row = Delivery.objects.get(letter__program=story.program, letter__carried__notice__rung=rung)
    at = datetime(on.year, on.month, on.day, 12, tzinfo=UTC)
    day = Day(program=story.program, on=on, at=at)
    record_delivered(row, on=on, day=day, hand=Hand(by="A. Clerk", at=at))


def test_ennis_tx(pace: Pace) -> None:
    # 18-97: due Tuesday 10 November 2026, notice on the 11th: received that day, ten days of work
    # would end on 25 November. Signed for on Friday the 13th. A hearing may be asked for within
    # 10 days of the receipt, to 23 November. At least 10 days
    # of work from the receipt: 16, 17, 18, 19, 20, 23, 24, 25 November; Thanksgiving and the
    # day after it are closed in Texas (from memory: Gov't Code 662.003); 30 November, 1 December.
    story = Story("ennis-tx", state="TX")
    story.stands("S1", ("passed", date(2025, 11, 10)))
    notice = f"2026-11-11 notice by certified to {OWNER}: Have it done before November 25, 2026."
    story.lives(notice, start="2026-11-05", end="2026-11-12", pace=pace)
    (final,) = story.finals()
    # Printed before the receipt is known: at the earliest received on the day it left.
    assert "at least until the end of November 21, 2026" in said(final)
    assert "A hearing is asked for within 10 calendar days of receipt" in said(final)
    delivered(story, "notice", date(2026, 11, 13))
    story.lives(
        "2026-12-01 shutoff-order prepared", start="2026-11-13", end="2026-12-05", pace=pace
    )


def test_ennis_tx_without_a_receipt_no_order_is_prepared(pace: Pace) -> None:
    story = Story("ennis-tx", state="TX")
    story.stands("S1", ("passed", date(2025, 11, 10)))
    notice = f"2026-11-11 notice by certified to {OWNER}: Have it done before November 25, 2026."
    story.lives(notice, start="2026-11-05", end="2027-01-31", pace=pace)
    with pytest.raises(Refused, match="It left on 2026-11-11"):
        delivered(story, "notice", date(2026, 11, 10))


def test_hernando_county_fl_three_ladders_and_a_fire_line(pace: Pace) -> None:
    # 28-173: overdue 16 June 2026 for all. High hazard: immediate, the day after the notice, 17
    # June. Other: 60 days, 15 August. A dedicated fire line is reported to the fire department
    # the day after its notice and never shut off.
    story = Story("hernando-county-fl")
    story.stands("HIGH", PASSED, hazard="high", type="RP")
    story.stands("LOW", PASSED)
    story.stands("FIRE", PASSED, service="fire", type="DCDA")
    story.lives(
        f"""
        2026-06-16 notice by mail to {OWNER}: Have it done before June 17, 2026.
        2026-06-16 notice by mail to {OWNER}: Have it done before August 15, 2026.
        2026-06-16 fire-notice by mail to {OWNER}: Have it done by June 17, 2026.
        2026-06-17 shutoff-order-high prepared
        2026-06-17 fire-report by mail to Tamarack Flats Fire: We leave the line as it is and report it to you.
        2026-08-15 shutoff-order prepared
        """,  # noqa: E501
        start="2026-06-10", end="2026-08-20", pace=pace,
    )  # fmt: skip
    fire = next(one for one in story.letters() if one.kind == "fire-line-report")
    assert fire.address_lines[:2] == ["Tamarack Flats Fire", "2 Hose Lane"]
    assert "shut off" not in " ".join(fire.content["headline"])


def test_hernando_county_fl_a_home_has_120_days(pace: Pace) -> None:
    # 28-173: residential 120 days. Florida 62-555.360: residential every 2 years, so passed 15
    # June 2024, due 15 June 2026; 16 June + 120 = 14 October.
    story = Story("hernando-county-fl", residential=True)
    story.stands("HOME", ("passed", date(2024, 6, 15)))
    story.lives(
        f"""
        2026-06-16 notice by mail to {OWNER}: Have it done before October 14, 2026.
        2026-10-14 shutoff-order-residential prepared
        """,
        start="2026-06-12", end="2026-10-20", pace=pace,
    )  # fmt: skip


def test_copper_mountain_co(pace: Pace) -> None:
    # Failed 1 April 2026: repaired within 60 days, 31 May. Invented: a final notice the day
    # after, 1 June. Off at 120 days: 30 July.
    story = Story("copper-mountain-co")
    one = story.stands("S1", PASSED)
    story.told(one, "failed", date(2026, 4, 1))
    story.lives(
        f"""
        2026-04-01 repair by mail to {OWNER}: Have it repaired and tested again by May 31, 2026.
        2026-06-01 final by mail to {OWNER}: Have it done before July 30, 2026.
        2026-07-30 shutoff-order prepared
        """,
        start="2026-04-01", end="2026-08-05", pace=pace,
    )  # fmt: skip


def test_copper_mountain_co_a_pass_after_repair_ends_it(pace: Pace) -> None:
    # Repaired on 20 May and passed on the 21st: cured. The next is due a year after (invented).
    story = Story("copper-mountain-co")
    one = story.stands("S1", PASSED)
    story.told(one, "failed", date(2026, 4, 1))
    first = (
        f"2026-04-01 repair by mail to {OWNER}: Have it repaired and tested again by May 31, 2026."
    )
    story.lives(first, start="2026-04-01", end="2026-05-20", pace=pace)
    story.told(one, "repaired", date(2026, 5, 20))
    story.told(one, "passed", date(2026, 5, 21))
    story.lives("", start="2026-05-21", end="2026-08-31", pace=pace)


def test_boulder_co(pace: Pace) -> None:
    # A failing test: the tester phones the same day, 1 April 2026; a tag, then 10 days: 11 April.
    # Invented: a final notice the day after, 12 April; order 14 days on, 26 April.
    story = Story("boulder-co")
    one = story.stands("S1", PASSED)
    story.told(one, "failed", date(2026, 4, 1))
    story.lives(
        f"""
        2026-04-01 tag by door to Occupant: Have it repaired and tested again by April 11, 2026.
        2026-04-12 final by mail to {OWNER}: Have it done before April 26, 2026.
        2026-04-26 shutoff-order prepared
        """,
        start="2026-04-01", end="2026-05-05", pace=pace,
    )  # fmt: skip


def test_boulder_co_ten_days_from_a_tag_that_was_hung_late(pace: Pace) -> None:
    # Failed on 1 April 2026, told to the office on the 6th: the tag hangs that day, when of the ten
    # days from the failure five are left. Ten from the tag: 16 April. Order 14 days on, 30 April.
    story = Story("boulder-co")
    one = story.stands("S1", PASSED)
    story.told(one, "failed", date(2026, 4, 1))
    story.lives(
        f"""
        2026-04-06 tag by door to Occupant: Have it repaired and tested again by April 11, 2026.
        2026-04-16 final by mail to {OWNER}: Have it done before April 30, 2026.
        2026-04-30 shutoff-order prepared
        """,
        start="2026-04-06", end="2026-05-05", pace=pace,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("place", "hazard", "by", "story_lines"),
    [
        # Lincoln County NC: 14 days at a health hazard: 15 April; 21 for others: 22 April.
        # Carthage NC: 7 days: 8 April; 21: 22 April. The rest is invented: overdue the day
        # after, final 14 days on, order 14 days on.
        ("lincoln-county-nc", "high", "April 15, 2026", ("2026-04-16", "2026-04-30", "2026-05-14")),
        ("lincoln-county-nc", "low", "April 22, 2026", ("2026-04-23", "2026-05-07", "2026-05-21")),
        ("carthage-nc", "high", "April 8, 2026", ("2026-04-09", "2026-04-23", "2026-05-07")),
        ("carthage-nc", "low", "April 22, 2026", ("2026-04-23", "2026-05-07", "2026-05-21")),
    ],
)
def test_lincoln_county_and_carthage_nc(
    place: str, hazard: str, by: str, story_lines: tuple[str, str, str], pace: Pace
) -> None:
    story = Story(place)
    one = story.stands("S1", PASSED, hazard=hazard)
    story.told(one, "failed", date(2026, 4, 1))
    overdue, final, order = (date.fromisoformat(day) for day in story_lines)
    story.lives(
        f"""
        2026-04-01 repair by mail to {OWNER}: Have it repaired and tested again by {by}.
        {overdue} overdue by mail to {OWNER}: Have it done by {final:%B} {final.day}, 2026.
        {final} final by certified to {OWNER}: Have it done before {order:%B} {order.day}, 2026.
        {order} shutoff-order prepared
        """,
        start="2026-04-01", end="2026-05-25", pace=pace,
    )  # fmt: skip


def test_cave_creek_az(pace: Pace) -> None:
    # Comply within 30 days of the notice: overdue 16 June 2026, so 16 July. Invented: the final
    # notice then, and an order 14 days on, 30 July.
    story = Story("cave-creek-az")
    story.stands("S1", PASSED)
    story.lives(
        f"""
        2026-06-16 notice by mail to {OWNER}: Have it done by July 16, 2026.
        2026-07-16 final by mail to {OWNER}: Have it done before July 30, 2026.
        2026-07-30 shutoff-order prepared
        """,
        start="2026-06-10", end="2026-08-05", pace=pace,
    )  # fmt: skip


def test_cave_creek_az_a_failed_test_has_14_days(pace: Pace) -> None:
    # Failed 1 April 2026: 14 days, 15 April; then the notice, 16 April, with its 30 days: 16 May;
    # order 30 May (invented).
    story = Story("cave-creek-az")
    one = story.stands("S1", PASSED)
    story.told(one, "failed", date(2026, 4, 1))
    story.lives(
        f"""
        2026-04-01 repair by mail to {OWNER}: Have it repaired and tested again by April 15, 2026.
        2026-04-16 notice by mail to {OWNER}: Have it done by May 16, 2026.
        2026-05-16 final by mail to {OWNER}: Have it done before May 30, 2026.
        2026-05-30 shutoff-order prepared
        """,
        start="2026-04-01", end="2026-06-05", pace=pace,
    )  # fmt: skip


def test_cross_valley_wa(pace: Pace) -> None:
    # Due 31 May 2026, passed in the season before. A courtesy from 1 March, 91 days before, to
    # the service and the billing address. The season opens 1 January. Invented: a warning the
    # day after due, 1 June; a final notice 14 days on, 15 June; an order 14 days on, 29 June.
    story = Story("cross-valley-wa", state="WA")
    story.party("Brookfen Holdings", "customer", address="9 Elm Street", zip="99172")
    story.stands("S1", ("passed", date(2025, 4, 20)))
    there, billing = "Brookfen Holdings", "Brookfen Holdings"
    story.lives(
        f"""
        2026-03-01 courtesy by mail to {there}: Have it done by May 31, 2026.
        2026-03-01 courtesy by mail to {billing}: Have it done by May 31, 2026.
        2026-06-01 warning by mail to {there}: Have it done by June 15, 2026.
        2026-06-01 warning by mail to {billing}: Have it done by June 15, 2026.
        2026-06-15 final by mail to {there}: Have it done before June 29, 2026.
        2026-06-15 final by mail to {billing}: Have it done before June 29, 2026.
        2026-06-29 shutoff-order prepared
        """,
        start="2026-02-20", end="2026-07-05", pace=pace,
    )  # fmt: skip
    streets = [one.address_lines[1] for one in story.finals()]
    assert sorted(streets) == ["230 Larch Court", "9 Elm Street"]


def test_cross_valley_wa_one_letter_where_both_addresses_are_one(pace: Pace) -> None:
    story = Story("cross-valley-wa", state="WA")
    story.stands("S1", ("passed", date(2025, 4, 20)))
    courtesy = f"2026-03-01 courtesy by mail to {OWNER}: Have it done by May 31, 2026."
    story.lives(courtesy, start="2026-02-20", end="2026-03-20", pace=pace)
    assert Letter.objects.filter(program=story.program).count() == 1
