"""Which channels a letter takes, and how long it pauses between tries."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from notices.domain.deliveries import GIVE_UP_AFTER, next_try_at, ways_of

NOON = datetime(2026, 1, 5, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("channel", "also_by", "has_address", "why", "expected"),
    [
        ("mail", (), False, "", ["mail"]),
        ("certified", ("mail",), False, "", ["certified", "mail"]),
        ("e-mail", (), True, "", ["e-mail"]),
        ("e-mail", (), False, "", ["mail"]),
        ("e-mail", (), True, "No mail server is set up.", ["mail"]),
        ("e-mail", ("mail",), False, "", ["mail"]),
        ("certified", ("e-mail",), False, "", ["certified"]),
        ("e-mail", ("door",), False, "", ["mail", "door"]),
        ("mail", ("mail", "hand"), True, "", ["mail", "hand"]),
    ],
)
def test_a_letter_takes_each_channel_once_and_paper_where_no_mail_can_go(
    channel: str, also_by: tuple[str, ...], has_address: bool, why: str, expected: list[str]
) -> None:
    ways = ways_of(channel=channel, also_by=also_by, has_address=has_address, why_no_mail=why)
    assert [way.channel for way in ways] == expected


def test_paper_instead_of_mail_says_why() -> None:
    (way,) = ways_of(channel="e-mail", also_by=(), has_address=False, why_no_mail="")
    assert way.detail == "Instead of e-mail. No e-mail address is known."


def test_the_pauses_grow_and_end_after_three_days() -> None:
    # RFC 5321 4.5.4.1: "the retry interval SHOULD be at least 30 minutes" once the first few
    # quick tries have failed, "and the give-up time generally needs to be at least 4-5 days" for
    # a relay; ours gives a lawful notice to paper after three.
    at, pauses, tries = NOON, [], 1
    while (then := next_try_at(tries=tries, first_at=NOON, now=at)) is not None:
        pauses.append(then - at)
        at, tries = then, tries + 1
    assert pauses[:3] == [timedelta(minutes=5), timedelta(minutes=20), timedelta(hours=1)]
    assert pauses == sorted(pauses)
    assert at - NOON <= GIVE_UP_AFTER
    assert at + timedelta(hours=12) - NOON > GIVE_UP_AFTER
