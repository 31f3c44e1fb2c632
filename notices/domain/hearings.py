"""If the reader disagrees: who corrects an error, and how and by when to be heard."""

from __future__ import annotations

from notices.domain import other_work
from notices.domain.briefs import Brief, Words
from notices.domain.cleaning import clean
from notices.domain.kinds import FINAL_KINDS, LetterKind, Work
from notices.domain.outlook import days_asked, order_day
from notices.domain.wording import cited, day_in, sentence_list


def disagree(brief: Brief, *, words: Words) -> str:
    """Return what to do for somebody who disagrees.

    A last notice names the rulebook's time to be heard, else the day before which an order
    cannot come.
    """
    reach = reach_of(brief, words=words)
    if brief.kind in FINAL_KINDS and (heard := _heard(brief, reach=reach, words=words)):
        return heard
    days = days_asked(brief)
    if brief.kind is LetterKind.SHUTOFF_ORDER or not days:
        return words.gettext("Call at once: %(reach)s. We can correct an error in the record.") % {
            "reach": reach
        }
    text = words.gettext(
        "Call or write before %(date)s: %(reach)s. Say what is wrong; a person looks at the "
        "record and answers."
    )
    return text % {"date": day_in(min(days), words=words), "reach": reach}


def _heard(brief: Brief, *, reach: str, words: Words) -> str:
    days, hearing = days_asked(brief), brief.hearing
    last = hearing.by if hearing is not None else None
    before = order_day(brief) or (min(days) if days else None)
    if last is None and before is None:
        return ""
    if last is not None and hearing is not None and hearing.is_least:
        asked = words.gettext(
            "You may ask to be heard, in person or in writing, at least until the end of "
            "%(date)s: %(reach)s."
        ) % {"date": day_in(last, words=words), "reach": reach}
    elif last is not None:
        asked = words.gettext(
            "You may ask to be heard, in person or in writing, until the end of %(date)s: "
            "%(reach)s."
        ) % {"date": day_in(last, words=words), "reach": reach}
    else:
        asked = words.gettext(
            "You may ask to be heard, in person or in writing, before %(date)s: %(reach)s."
        ) % {"date": day_in(before or brief.leaves_on, words=words), "reach": reach}
    rule = cited(_sentence(hearing.words), hearing.citation) if hearing is not None else ""
    ends = (
        words.gettext("A passing test closes this notice.")
        if brief.work is Work.TEST
        else other_work.closes(brief.work, words=words)
    )
    corrected = words.gettext("We can correct an error in the record.")
    return sentence_list([asked, rule, corrected, ends])


def _sentence(text: str) -> str:
    """A rule's own words as a sentence of the letter."""
    plain = clean(text).strip()
    return plain if not plain or plain.endswith(".") else f"{plain}."


def reach_of(brief: Brief, *, words: Words) -> str:
    """Return how the office is reached, or its name where no way is recorded."""
    sender = brief.sender
    ways = [clean(way) for way in (sender.phone, sender.email) if way]
    return words.gettext(" or ").join(ways) or clean(sender.name)
