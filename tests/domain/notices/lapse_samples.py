"""Samples of the letters about credentials, in either language."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial

from notices.domain.briefs import Words
from notices.domain.content import LetterContent
from notices.domain.lapse_letters import LapseBrief, LapseLetter, Lapsing, lapse_letter
from notices.domain.plain_letters import Text
from tests.domain.notices.order_samples import SENDER, content_of

ITEMS = (
    Lapsing(what="certificate", name="Tester T-1, T-1", last_day=date(2026, 12, 10)),
    Lapsing(what="gauge", name="G-100", last_day=date(2026, 12, 12)),
)


def lapse_letters(language: str) -> Iterator[tuple[str, LetterContent]]:
    """Yield each letter, for one paper and for two."""
    for kind, has_passed in ((LapseLetter.SOON, False), (LapseLetter.LAPSED, True)):
        for some in (ITEMS[:1], ITEMS):
            brief = LapseBrief(sender=SENDER, items=some, citation="Invented code 3: as said")
            text_in = partial(_text, brief, has_passed=has_passed)
            yield f"{kind} {len(some)}, {language}", content_of(kind, text_in, language=language)


def _text(brief: LapseBrief, words: Words, *, has_passed: bool) -> Text:
    return lapse_letter(brief, words=words, has_passed=has_passed)
