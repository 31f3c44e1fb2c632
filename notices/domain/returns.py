"""How letters come back, what a line of a list of them means, and by which means they go again."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from notices.domain.kinds import Channel


class CameBack(StrEnum):
    """What the post says of a letter that came back."""

    UNDELIVERABLE = "undeliverable"
    REFUSED = "refused"
    UNCLAIMED = "unclaimed"


class Settled(StrEnum):
    """What became of a letter that came back."""

    NEW_ADDRESS = "new address"
    SECOND_MEANS = "second means"
    GOES_ON = "goes on"


_BY = {
    Channel.MAIL: ("mail", "first-class mail", "first class mail", "regular mail"),
    Channel.CERTIFIED: ("certified", "certified mail"),
    Channel.DOOR: ("door", "posted at the door", "door tag", "posting"),
    Channel.HAND: ("hand", "hand delivery", "personal service"),
}
"""The words a rulebook uses for a means that a letter can go by again."""


SECOND_CHANNELS = (
    (Channel.MAIL.value, "First-class mail"),
    (Channel.DOOR.value, "At the door"),
    (Channel.HAND.value, "Handed over"),
    (Channel.CERTIFIED.value, "Certified mail"),
)
"""The ways a person may choose for a letter that came back, and how a page names them."""

BY_A_PERSON = (Channel.DOOR, Channel.HAND)
"""Ways on which a person of the office stands at the door: who, when, and a photo are kept."""


def codes_in(text: str) -> list[tuple[int, str]]:
    """Return the lines that say something, each with its number, blanks and bars taken off.

    Example: `" 25-1103-0001 \\n\\nK4 PX 9 "` gives lines 1 and 3. Raises nothing.
    """
    lines = enumerate(text.splitlines(), start=1)
    told = ((row, " ".join(line.replace("\x00", "").split())) for row, line in lines)
    return [(row, line[:300]) for row, line in told if line]


def second_channel(by: Sequence[str], *, used: Sequence[str]) -> Channel | None:
    """Return the first means of a rulebook that the letter did not go by; None: a person decides.

    Example: by "mail", "door", gone by certified mail: first-class mail.
    """
    for word in by:
        channel = next((c for c, names in _BY.items() if word.strip().lower() in names), None)
        if channel is not None and channel not in used:
            return channel
    return None


def has_left_already(by: Sequence[str], *, left: Sequence[str]) -> bool:
    """Return whether a means the rulebook names left together with the one that came back."""
    return any(word.strip().lower() in _BY.get(Channel(one), ()) for word in by for one in left)
