"""The letters a recipient got, as the owner's page lists them."""

from __future__ import annotations

from dataclasses import dataclass

from notices.domain.briefs import Words
from notices.domain.extra_kinds import title_of_kind
from notices.domain.kinds import Work
from notices.domain.long_dates import long_date
from notices.models import Letter


@dataclass(frozen=True, slots=True)
class LetterSent:
    """One letter that left."""

    day: str
    title: str
    number: str


def letters_sent(letter: Letter, *, words: Words, language: str) -> tuple[LetterSent, ...]:
    """Return the letters this recipient got, newest first."""
    sent = Letter.objects.filter(
        program=letter.program, recipient_key=letter.recipient_key, left_on__isnull=False
    ).order_by("-left_on", "-pk")
    return tuple(
        LetterSent(
            day=long_date(one.left_on, language=language),
            title=title_of_kind(one.kind, words=words, work=_work_of(one)),
            number=one.number,
        )
        for one in sent[:50]
        if one.left_on is not None
    )


def _work_of(letter: Letter) -> Work:
    """What a letter asked for, as it is kept with its words."""
    return Work(letter.content.get("work") or Work.TEST)
