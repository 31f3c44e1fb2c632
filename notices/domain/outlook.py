"""What happens next: the later rungs of the ladder, as the rulebook states them and no more."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from notices.domain.briefs import Brief, Step, Words
from notices.domain.cleaning import clean
from notices.domain.kinds import BEFORE_DUE_KINDS, FINAL_KINDS, FireLine, LetterKind, Work
from notices.domain.wording import cited, day_in, sentence_list, title_of


def days_asked(brief: Brief) -> tuple[date, ...]:
    """Return the days by which the tests are asked for; none means now.

    Before the due date that is the due date; after a failed test the rulebook's
    repair date; later the first day on which the next rung may leave, which
    counts from the day this letter leaves: left November 3, gap 14, November 17.
    None where such a day is past already, or the ladder ends.
    """
    days = _days(brief)
    return () if days and min(days) < brief.leaves_on else days


def _days(brief: Brief) -> tuple[date, ...]:
    if brief.kind in BEFORE_DUE_KINDS:
        return tuple(item.due_on for item in brief.items)
    if brief.kind is LetterKind.REPAIR:
        return tuple(item.cure_by or item.due_on for item in brief.items)
    step = next(iter(_lawful(brief.ahead)), None)
    if step is None:
        return ()
    if step.on is not None:
        return (step.on,)
    if step.gap_days is None:
        return ()
    return (date.fromordinal(brief.leaves_on.toordinal() + step.gap_days),)


def order_day(brief: Brief) -> date | None:
    """Return the first day on which an order could be made, if each notice leaves on its day."""
    found = [step.on for step in brief.ahead if step.kind == LetterKind.SHUTOFF_ORDER and step.on]
    is_fire = all(item.fire is FireLine.DEDICATED for item in brief.items)
    return None if is_fire or not found else min(found)


def next_paragraphs(brief: Brief, *, words: Words) -> tuple[str, ...]:
    """Return the paragraph on what the ladder does if no passing test comes, with its citation."""
    if brief.kind is LetterKind.SHUTOFF_ORDER:
        return (_order(brief, words=words),)
    steps = _spoken(brief)
    if not steps:
        return tuple(filter(None, [_fire(brief, steps=steps, words=words)]))
    opening = _unless_done(brief, days=days_asked(brief), words=words)
    sentences = [
        _sentence(step, is_first=place == 0, words=words) for place, step in enumerate(steps)
    ]
    fire, back = _fire(brief, steps=steps, words=words), _back(brief, steps=steps, words=words)
    off = _shutoff_day(brief, steps=steps, words=words)
    told = cited(sentence_list([opening, *sentences]), *(step.citation for step in steps))
    return (sentence_list([told, off, back, fire]),)


def _unless_done(brief: Brief, *, days: Sequence[date], words: Words) -> str:
    work = brief.work
    if not days:
        return {
            Work.TEST: words.gettext("Without a passing test in our record,"),
            Work.PROTECTION: words.gettext("While our record shows no such protection,"),
            Work.SURVEY: words.gettext("While our record shows no survey,"),
        }[work]
    text = {
        Work.TEST: words.gettext("If no passing test is in our record by %(date)s,"),
        Work.PROTECTION: words.gettext("If our record shows no such protection by %(date)s,"),
        Work.SURVEY: words.gettext("If our record shows no survey by %(date)s,"),
    }[work]
    if work is Work.TEST and brief.kind in FINAL_KINDS:
        text = words.gettext("If no passing test is in our record before %(date)s,")
    return text % {"date": day_in(min(days), words=words)}


def _lawful(steps: Sequence[Step]) -> list[Step]:
    return [step for step in steps if not step.is_courtesy]


_OF_SHUTOFF = frozenset({LetterKind.TURN_OFF, LetterKind.SHUTOFF_ORDER})
_OF_EVENTS = frozenset({LetterKind.REPAIR, LetterKind.TEST_OWED})


def _spoken(brief: Brief) -> list[Step]:
    """A courtesy letter tells the next lawful step only; a dedicated fire line knows no order."""
    steps = [step for step in _lawful(brief.ahead) if step.kind in set(LetterKind)]
    steps = [step for step in steps if step.kind not in _OF_EVENTS]
    is_fire = all(item.fire is FireLine.DEDICATED for item in brief.items)
    if is_fire or brief.work is not Work.TEST:
        steps = [step for step in steps if step.kind not in _OF_SHUTOFF]
    is_early = brief.kind in BEFORE_DUE_KINDS or brief.kind is LetterKind.REPAIR
    return steps[:1] if is_early else steps


def _sentence(step: Step, *, is_first: bool, words: Words) -> str:
    if step.kind == LetterKind.SHUTOFF_ORDER:
        return _order_ahead(step, is_first=is_first, words=words)
    title = title_of(LetterKind(step.kind), words=words).lower()
    by = words.gettext(" by certified mail") if step.is_certified else ""
    if is_first:
        return words.gettext("a %(title)s follows%(by)s.") % {"title": title, "by": by}
    text = (
        words.gettext("At least %(days)s working days later a %(title)s follows%(by)s.")
        if step.is_working
        else words.gettext("At least %(days)s days later a %(title)s follows%(by)s.")
    )
    return text % {"title": title, "by": by, "days": step.gap_days or 0}


def _order_ahead(step: Step, *, is_first: bool, words: Words) -> str:
    if is_first:
        return words.gettext(
            "an order to shut off water may be prepared. A person at this office must sign it "
            "first."
        )
    text = (
        words.gettext(
            "At least %(days)s working days after that an order to shut off water may be "
            "prepared. A person at this office must sign it first."
        )
        if step.is_working
        else words.gettext(
            "At least %(days)s days after that an order to shut off water may be prepared. A "
            "person at this office must sign it first."
        )
    )
    return text % {"days": step.gap_days or 0}


def _shutoff_day(brief: Brief, *, steps: Sequence[Step], words: Words) -> str:
    """Name in a last notice the day before which water is not shut off."""
    day = order_day(brief)
    speaks = any(step.kind == LetterKind.SHUTOFF_ORDER for step in steps)
    if brief.kind not in FINAL_KINDS or day is None or not speaks:
        return ""
    text = words.gettext("Water may be shut off from %(date)s on, and not before.")
    return text % {"date": day_in(day, words=words)}


def _back(brief: Brief, *, steps: Sequence[Step], words: Words) -> str:
    """Say in a final notice how water would come back, where its ladder speaks of an order."""
    if brief.kind not in FINAL_KINDS:
        return ""
    if all(step.kind != LetterKind.SHUTOFF_ORDER for step in steps):
        return ""
    if brief.restoration:
        return cited(clean(brief.restoration), brief.restoration_citation)
    return words.gettext(
        "If water is shut off, a passing test in our record brings it back: call us."
    )


def _fire(brief: Brief, *, steps: Sequence[Step], words: Words) -> str:
    speaks_of_order = any(step.kind == LetterKind.SHUTOFF_ORDER for step in steps)
    is_test = brief.work is Work.TEST
    dedicated = is_test and any(item.fire is FireLine.DEDICATED for item in brief.items)
    late = brief.kind in FINAL_KINDS | {LetterKind.SECOND_OVERDUE}
    if dedicated and (speaks_of_order or late):
        return words.gettext(
            "A dedicated fire line is not shut off under this program; the fire department may "
            "be told that its test is missing."
        )
    return ""


def _order(brief: Brief, *, words: Words) -> str:
    sent = words.gettext(
        "The notices before this one were sent and no passing test is in our record."
    )
    released = words.gettext(
        "This order takes effect only when a named person of this office has signed it."
    )
    closed = words.gettext(
        "A passing test closes the matter: once it is in our record there is no ground for the "
        "order. Call us about turning water back on."
    )
    return sentence_list([cited(sent, brief.citation), released, closed])
