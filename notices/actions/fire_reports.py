"""The letter of a rung that reports a fire line to the fire department instead of an order."""

from __future__ import annotations

from collections.abc import Mapping

from notices.catalogues import words_in
from notices.domain.addresses import AddressBlock
from notices.domain.content import LetterContent
from notices.domain.fire_line_letters import fire_line
from notices.domain.order_letters import OrderBrief, OrderLetter
from notices.domain.owing import LetterGroup
from notices.domain.plain_letters import Frame, framed
from notices.queries.briefs import Stamp, item_of, sender_of
from notices.queries.owed import Position
from registry.models import Program


def is_fire_report(group: LetterGroup) -> bool:
    """Say whether a letter is such a report."""
    return group.first.words == OrderLetter.FIRE_LINE


def fire_report(
    group: LetterGroup,
    *,
    program: Program,
    places: Mapping[int, Position],
    stamp: Stamp,
    address: AddressBlock,
) -> LetterContent:
    """Return the letter: which lines, since when, and what the owner was sent."""
    mine = [places[owed.obligation_id] for owed in group.owed]
    items = tuple(item_of(place.row) for place in mine)
    sent = sorted({(gone.left_on, gone.rung) for place in mine for gone in place.left})
    brief = OrderBrief(
        place=items[0].premises if len({item.premises for item in items}) == 1 else program.name,
        sender=sender_of(program),
        items=items,
        citation=group.first.citation,
        sent=tuple(sent),
    )
    frame = Frame(
        kind=OrderLetter.FIRE_LINE,
        number=stamp.number,
        leaves_on=stamp.leaves_on,
        sender=brief.sender,
        address=address,
    )
    return framed(frame, text_in=lambda words: fire_line(brief, words=words), words=words_in("en"))
