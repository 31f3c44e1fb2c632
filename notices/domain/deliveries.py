"""How a letter goes out: a delivery for each channel, its states, the pauses between tries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from notices.domain.kinds import Channel

PAUSES = (
    timedelta(minutes=5),
    timedelta(minutes=20),
    timedelta(hours=1),
    timedelta(hours=3),
    timedelta(hours=6),
    timedelta(hours=12),
)
"""Between one try of an e-mail and the next; the last repeats. Common practice of mail servers,
and longer than RFC 5321 4.5.4.1's least of half an hour from the third try on."""

GIVE_UP_AFTER = timedelta(days=3)
"""After the first try an e-mail that nobody takes becomes paper. RFC 5321 4.5.4.1 has servers
keep trying for four to five days; a lawful notice should not wait that long unnoticed."""

MOST_UNKNOWN = 3
"""Tries of one e-mail that ended without an answer, before a person is asked."""


class DeliveryState(StrEnum):
    """The life of one delivery."""

    WAITING = "waiting"
    GOING = "going"  # a try began; until its answer is recorded it may or may not have left
    HELD = "held"  # a person must say what became of it
    LEFT = "left"
    FAILED = "failed"
    WITHDRAWN = "withdrawn"


OPEN_DELIVERIES = frozenset({DeliveryState.WAITING, DeliveryState.GOING, DeliveryState.HELD})
"""Deliveries that may still leave."""


class TryOutcome(StrEnum):
    """What one try, or what was heard later, came to."""

    BEGAN = "began"
    TAKEN = "taken"  # the server took it; no more is known than that
    LATER = "later"
    REFUSED = "refused"
    UNKNOWN = "unknown"
    BOUNCED = "bounced"
    DELAYED = "delayed"
    MAILED = "mailed"
    REPRINTED = "printed again"


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One channel a letter takes, and why it is not the one the rulebook names."""

    channel: str
    detail: str = ""


def ways_of(
    *, channel: str, also_by: Sequence[str], has_address: bool, why_no_mail: str
) -> tuple[Way, ...]:
    """Return the channels of a letter, each once; the rung has left when all of them have.

    `why_no_mail` says why nothing can go by e-mail to this recipient. An e-mail that cannot go
    is a letter by first-class mail instead, unless that goes anyway. Example: e-mail, also by
    door, to an owner without an address of that kind: mail and door.
    """
    wanted = dict.fromkeys([channel, *also_by])
    if Channel.EMAIL not in wanted or (has_address and not why_no_mail):
        return tuple(Way(channel=one) for one in wanted)
    why = why_no_mail or "No e-mail address is known."
    kept = [one for one in wanted if one != Channel.EMAIL]
    if Channel.MAIL in kept or Channel.CERTIFIED in kept:
        return tuple(Way(channel=one) for one in kept)
    return (
        Way(channel=Channel.MAIL, detail=f"Instead of e-mail. {why}"),
        *(Way(channel=one) for one in kept),
    )


def next_try_at(*, tries: int, first_at: datetime, now: datetime) -> datetime | None:
    """Return when to try again after `tries` tries, or None when it is time to give up.

    Example: first tried at noon, the second try not before 12:05, the third 20 minutes on.
    """
    at = now + PAUSES[min(max(tries, 1), len(PAUSES)) - 1]
    return at if at - first_at <= GIVE_UP_AFTER else None
