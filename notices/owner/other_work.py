"""What an owner reads about protection of a service or a survey: standing, why, what to do."""

from __future__ import annotations

from notices.domain.briefs import Item, Words
from notices.domain.kinds import Work
from notices.domain.long_dates import long_date
from notices.domain.other_work import service_lines, there_words, types_words
from notices.domain.wording import cited, hazard_words


def what_lines(item: Item, *, words: Words) -> tuple[str, ...]:
    """Return what is asked for, in a line or two."""
    if item.work is Work.SURVEY:
        return (words.gettext("Survey of the plumbing"),)
    types = types_words(item.allowed, words=words)
    return (words.gettext("Backflow protection"), types)


def where_lines(item: Item, *, words: Words) -> tuple[str, ...]:
    """Return where it is asked for, and the hazard found."""
    if item.work is Work.SURVEY:
        return (hazard_words(item.hazard, words=words),)
    return service_lines(item, words=words)


def why(item: Item, *, words: Words, language: str) -> str:
    """Say why it is asked for, with the source."""
    due = long_date(item.due_on, language=language)
    if item.work is Work.SURVEY:
        text = words.gettext("The last survey on record was on %(last)s. The next is due %(due)s.")
        if item.last_passed_on is None:
            text = words.gettext("No survey is on record. One is due %(due)s.")
            return cited(text % {"due": due}, item.citation)
        last = long_date(item.last_passed_on, language=language)
        return cited(text % {"due": due, "last": last}, item.citation)
    text = words.gettext(
        "Our record shows on this service: %(there)s. One of the types named is to be installed "
        "by %(due)s."
    )
    told = text % {"there": there_words(item, words=words), "due": due}
    return cited(told, item.citation, item.asks_source)


def lead(work: Work, *, words: Words) -> str:
    """Say what it is for."""
    if work is Work.SURVEY:
        return words.gettext(
            "A survey finds where used water in a building could flow back into the public "
            "drinking water."
        )
    return words.gettext(
        "Backflow protection keeps used water in a building out of the public drinking water."
    )
