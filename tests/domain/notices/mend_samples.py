"""Samples of the letter to testing companies about reports that do not count."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import partial

from notices.domain.briefs import Words
from notices.domain.content import LetterContent
from notices.domain.in_hand import ReportLacks
from notices.domain.mend_letters import MendBrief, MendLetter, ToMend, mend_letter
from notices.domain.plain_letters import Text
from tests.domain.notices.order_samples import SENDER, content_of

ONE = ToMend(
    serial="B3-10442",
    place="Larch Court Apartments, 230 Larch Court",
    tested_on=date(2026, 2, 3),
    tester="R. Odom",
    lacks=(ReportLacks.NUMBERS,),
    due_on=date(2026, 2, 24),
)
EVERY = tuple(
    replace(ONE, serial=f"B3-{number}", place=f"{number} Larch Court", lacks=(lack,), due_on=due)
    for number, (lack, due) in enumerate(
        zip(ReportLacks, (date(2026, 2, 24), date(2026, 2, 13), *[None] * 4), strict=True), 230
    )
)
BRIEF = MendBrief(
    sender=SENDER,
    reports=(ONE,),
    pages="https://flats.example/p/flats/field-tests/",
    today=date(2026, 2, 20),
    citation="Invented code 9: as said",
)


def mend_letters(language: str) -> Iterator[tuple[str, LetterContent]]:
    """Yield the letter for one report, for one of each reason, and without any last day."""
    for name, reports in (
        ("one", (ONE,)),
        ("every reason", EVERY),
        ("no last day", (replace(ONE, due_on=None),)),
    ):
        text_in = partial(_text, replace(BRIEF, reports=reports))
        letter = content_of(MendLetter.REPORTS, text_in, language=language)
        yield f"{MendLetter.REPORTS} {name}, {language}", letter


def _text(brief: MendBrief, words: Words) -> Text:
    return mend_letter(brief, words=words)
