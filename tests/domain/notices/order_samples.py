"""Samples of the letters around an order, in either language."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date

from notices.catalogues import words_in
from notices.domain.addresses import MailingAddress, window_block
from notices.domain.briefs import Sender, Words
from notices.domain.content import LetterContent
from notices.domain.fire_line_letters import fire_line
from notices.domain.order_letters import OrderBrief, OrderLetter, emergency, water_back
from notices.domain.plain_letters import Frame, Text, framed
from notices.domain.shutoffs import Proof
from tests.domain.notices.letters import ITEM

SENDER = Sender(
    name="Tamarack Flats Water District", line="Cross-connection control", phone="(555) 010-0142"
)
BRIEF = OrderBrief(
    place="230 Larch Court",
    sender=SENDER,
    items=(replace(ITEM, due_on=date(2025, 11, 1)),),
    services=("domestic", "irrigation"),
    order="26-0213-0004",
    citation="Invented code 1.2: as a test asks",
    off_on=date(2026, 2, 17),
    back_on=date(2026, 2, 20),
    proof=Proof.PASSED,
    proof_words="Alder Testing, February 24",
    reason="sewage backed up into the basement sink",
    sent=((date(2025, 12, 1), "first overdue"),),
)
MANY = replace(
    BRIEF,
    place=SENDER.name,
    items=tuple(
        replace(
            ITEM,
            serial=f"F{number}",
            premises_key=f"{number % 7}",
            premises=f"{number % 7} Larch Court",
        )
        for number in range(14)
    ),
)
"""Fourteen fire lines at seven premises: two each."""


def content_of(kind: str, text_in: Callable[[Words], Text], *, language: str) -> LetterContent:
    """Return such a letter whole in one language."""
    address = MailingAddress(
        name="Larch Court Apartments", street="230 Larch Court", city="Tamarack Flats",
        state="WA", zip="99171",
    )  # fmt: skip
    frame = Frame(
        kind=kind,
        number="26-0220-0007",
        leaves_on=date(2026, 2, 20),
        sender=SENDER,
        address=window_block(address),
    )
    return framed(frame, text_in=text_in, words=words_in(language))


def order_letters(language: str) -> Iterator[tuple[str, LetterContent]]:
    """Yield every letter around an order, for each cause it may have."""
    made: list[tuple[OrderLetter, str, Callable[[Words], Text]]] = [
        (OrderLetter.FIRE_LINE, "", lambda words: fire_line(BRIEF, words=words)),
        (OrderLetter.FIRE_LINE, "of many", lambda words: fire_line(MANY, words=words)),
        (OrderLetter.EMERGENCY, "", lambda words: emergency(BRIEF, words=words)),
    ]
    for proof in Proof:
        brief = replace(BRIEF, proof=proof)
        made.append(
            (OrderLetter.WATER_BACK, proof, lambda words, b=brief: water_back(b, words=words))  # type: ignore[misc]
        )
    for kind, name, text_in in made:
        yield f"{kind} {name}, {language}", content_of(kind, text_in, language=language)
