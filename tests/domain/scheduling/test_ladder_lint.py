"""Ladders that run backwards, or whose order could come too soon, are refused by rung and mend."""

from __future__ import annotations

import pytest

from scheduling.domain.rulebook_text import RulebookError, read_rulebook
from tests.domain.scheduling.places.atlas import TEST_KIND, YEARLY, text_with

CITED = 'citation = "A test\'s own"\n'


def rung(key: str, *lines: str, trigger: str = "due") -> str:
    return "\n".join(
        ["[[rung]]", f'key = "{key}"', f'trigger = "{trigger}"', *lines, CITED],
    )


def hearing(days: int, *lines: str) -> str:
    head = ["[[provision]]", 'id = "to be heard"', 'topic = "hearing"', 'words = "In writing."']
    return "\n".join([*head, f"days = {days}", *lines, CITED])


def order(*lines: str, key: str = "shutoff-order") -> str:
    return rung(key, "offset_days = 1", "is_order = true", "needs_release = true", *lines)


FINAL = rung("final", "offset_days = 1")


def fault_of(*tables: str) -> str:
    """What is said against a ladder; nothing where it is read."""
    try:
        read_rulebook(text_with("\n".join([TEST_KIND, YEARLY, *tables])))
    except RulebookError as error:
        return str(error)
    return ""


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        (
            [rung("late", "offset_days = 20"), rung("early", "offset_days = 5")],
            "Rung 'early' runs backwards: its day lies before the rung above it.",
        ),
        (
            [
                rung("tag", "offset_days = 3", trigger="failed"),
                rung("call", "offset_days = 1", trigger="failed"),
            ],
            "Rung 'call' runs backwards: its day lies before the rung above it.",
        ),
        (
            [rung("second", 'after = "first"'), rung("first")],
            "Rung 'second' follows 'first', which does not stand before it.",
        ),
        (
            [FINAL, order('after = "final"', "gap_days = 10"), rung("again", "offset_days = 2")],
            ("Rung 'again' stands below the order 'shutoff-order': move above it what is sent"
            " before water goes off."),
        ),
        (
            [FINAL, order('after = "final"', "gap_days = 10"), hearing(10)],
            ("Rung 'shutoff-order' could come before the 10 days to be heard (to be heard) have"
            " passed since 'final': write gap_days = 11 or more."),
        ),
        (
            [FINAL, order('after = "final"', "gap_days = 8", "is_working = true"), hearing(10)],
            # Left on a Sunday, 8 days of work end on a Wednesday, 10 days on: the day itself.
            ("Rung 'shutoff-order' could come before the 10 days to be heard (to be heard) have"
            " passed since 'final': write gap_days = 9 or more."),
        ),
        (
            [FINAL, order('after = "final"', "gap_days = 30"), hearing(10, "is_working = true")],
            ("Rung 'shutoff-order' could come before the 10 working days to be heard (to be heard)"
            " have passed since 'final': write is_working = true and gap_days = 11 or more."),
        ),
        (
            [FINAL, order("gap_days = 30"), hearing(10)],
            ("Rung 'shutoff-order' is an order and follows no notice that could name the 10 days to"
            " be heard (to be heard): name that notice with after."),
        ),
        (
            [rung("first", "offset_days = 1", "presumed_days = 3")],
            "Rung 'first' counts from a delivery of nothing: name the rung with after.",
        ),
        (
            [FINAL, order('after = "final"', "gap_days = 9", 'repeat = "FREQ=DAILY"')],
            "Rung 'shutoff-order' cannot repeat: an order or a notice of an event comes once.",
        ),
        (
            [rung("first", 'languages = ["tlh"]')],
            "Rung 'first' is in 'tlh': write one of en, es.",
        ),
        (
            [rung("first", 'repeat = "FREQ=HOURLY"')],
            "[[rung]] first: repeat: FREQ is HOURLY: write YEARLY, MONTHLY, WEEKLY or DAILY.",
        ),
    ],
)  # fmt: skip
def test_a_ladder_that_cannot_be_meant_is_refused_by_rung_and_mend(
    tables: list[str], said: str
) -> None:
    assert said in fault_of(*tables)


@pytest.mark.parametrize(
    "tables",
    [
        [FINAL, order('after = "final"', "gap_days = 11"), hearing(10)],
        [FINAL, order('after = "final"', "gap_days = 9", "is_working = true"), hearing(10)],
        [
            FINAL,
            order('after = "final"', "gap_days = 11", "is_working = true"),
            hearing(10, "is_working = true"),
        ],
        # About other subjects than the order is: fire lines have no order here.
        [
            FINAL,
            order('after = "final"', "gap_days = 5", 'services = ["domestic"]'),
            hearing(10, 'services = ["fire"]'),
        ],
        [FINAL, order('after = "final"', "gap_days = 10")],
        [
            rung("a", "offset_days = 1", 'repeat = "FREQ=WEEKLY;COUNT=3"', 'languages = ["es"]'),
            rung("b", "offset_days = 1", 'after = "a"', "gap_days = 20", "from_delivery = true"),
        ],
    ],
)
def test_a_ladder_that_leaves_the_time_to_be_heard_is_read(tables: list[str]) -> None:
    assert fault_of(*tables) == ""
