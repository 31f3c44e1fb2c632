"""The head of a letter from what the office says of itself."""

from __future__ import annotations

from notices.domain.briefs import Sender
from notices.domain.cleaning import clean
from notices.domain.content import Letterhead


def letterhead_of(sender: Sender) -> Letterhead:
    """Return the office's name, its line and how it is reached, each on one line."""
    reached = ", ".join(part for part in (clean(sender.phone), clean(sender.hours)) if part)
    contact = tuple(part for part in (reached, clean(sender.email)) if part)
    return Letterhead(
        name=clean(sender.name),
        line=clean(sender.line),
        contact=contact,
        colour=sender.colour,
        logo=sender.logo,
        paper=sender.paper,
    )
