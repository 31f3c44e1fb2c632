"""Letters outside the ladders that answer something, and how any kind of letter is named."""

from __future__ import annotations

from enum import StrEnum

from notices.domain.briefs import Words
from notices.domain.kinds import LetterKind, Work
from notices.domain.order_letters import TITLES as ORDER_TITLES
from notices.domain.order_letters import OrderLetter
from notices.domain.wording import N_, title_of


class ExtraKind(StrEnum):
    """Kinds of letter that no rung of a ladder sends."""

    CORRECTION = "correction"
    DECISION = "decision"
    REPORT = "report-not-counted"


TITLES = {
    ExtraKind.CORRECTION: N_("Letter of correction"),
    ExtraKind.DECISION: N_("Decision on your objection"),
    ExtraKind.REPORT: N_("Report that does not count"),
}


def title_of_kind(kind: str, *, words: Words, work: Work = Work.TEST) -> str:
    """Return how any letter is named, a rung's or not; an unknown kind is a letter."""
    if kind in set(LetterKind):
        return title_of(LetterKind(kind), words=words, work=work)
    if kind in set(ExtraKind):
        return words.gettext(TITLES[ExtraKind(kind)])
    if kind in set(OrderLetter):
        return words.gettext(ORDER_TITLES[OrderLetter(kind)])
    return words.gettext("Letter")
