"""What happens next: the later rungs of the ladder, as the rulebook states them and no more."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from notices.domain.briefs import Brief, Step, Words
from notices.domain.kinds import BEFORE_DUE_KINDS, FireLine, LetterKind, Work
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
    if step is None or step.gap_days is None:
        return ()
    return (date.fromordinal(brief.leaves_on.toordinal() + step.gap_days),)


def next_paragraphs(brief: Brief, *, words: Words) -> tuple[str, ...]:
    """Return the paragraph on what the ladder does if no passing test comes, with its citation."""
    if brief.kind is LetterKind.SHUTOFF_ORDER:
        return (_order(brief, words=words),)
    steps = _spoken(brief)
    if not steps:
        return tuple(filter(None, [_fire(brief, steps=steps, words=words)]))
    opening = _unless_done(brief.work, days=days_asked(brief), words=words)
    sentences = [
        _sentence(step, is_first=place == 0, words=words) for place, step in enumerate(steps)
    ]
    fire, back = _fire(brief, steps=steps, words=words), _back(brief, steps=steps, words=words)
    told = sentence_list([opening, *sentences, back, fire])
    return (cited(told, *(step.citation for step in steps)),)


def _unless_done(work: Work, *, days: Sequence[date], words: Words) -> str:
    if work is not Work.TEST:
        if not days:
            return words.gettext("While our record does not show it,")
        text = words.gettext("If our record does not show it by %(date)s,")
        return text % {"date": day_in(min(days), words=words)}
    if not days:
        return words.gettext("Without a passing test in our record,")
    text = words.gettext("If no passing test is in our record by %(date)s,")
    return text % {"date": day_in(min(days), words=words)}


def _lawful(steps: Sequence[Step]) -> list[Step]:
    return [step for step in steps if not step.is_courtesy]


def _spoken(brief: Brief) -> list[Step]:
    """A courtesy letter tells the next lawful step only; a dedicated fire line knows no order."""
    steps = [step for step in _lawful(brief.ahead) if step.kind in set(LetterKind)]
    steps = [step for step in steps if step.kind not in {"repair", "test-owed"}]
    is_test = brief.work is Work.TEST
    if not is_test:
        steps = [step for step in steps if step.kind != LetterKind.SHUTOFF_ORDER]
    if brief.kind in BEFORE_DUE_KINDS or brief.kind is LetterKind.REPAIR:
        return steps[:1]
    if all(item.fire is FireLine.DEDICATED for item in brief.items):
        return [step for step in steps if step.kind != LetterKind.SHUTOFF_ORDER]
    return steps


def _sentence(step: Step, *, is_first: bool, words: Words) -> str:
    if step.kind == LetterKind.SHUTOFF_ORDER:
        return _order_ahead(step, is_first=is_first, words=words)
    title = title_of(LetterKind(step.kind), words=words).lower()
    by = words.gettext(" by certified mail") if step.is_certified else ""
    if is_first:
        return words.gettext("a %(title)s follows%(by)s.") % {"title": title, "by": by}
    return words.gettext("At least %(days)s days later a %(title)s follows%(by)s.") % {
        "title": title,
        "by": by,
        "days": step.gap_days or 0,
    }


def _order_ahead(step: Step, *, is_first: bool, words: Words) -> str:
    if is_first:
        return words.gettext(
            "an order to shut off water may be prepared. Only a person may release it."
        )
    return words.gettext(
        "At least %(days)s days after that an order to shut off water may be prepared. Only a "
        "person may release it."
    ) % {"days": step.gap_days or 0}


def _back(brief: Brief, *, steps: Sequence[Step], words: Words) -> str:
    """Say in a final notice how water would come back, where its ladder speaks of an order."""
    if brief.kind is not LetterKind.FINAL:
        return ""
    if all(step.kind != LetterKind.SHUTOFF_ORDER for step in steps):
        return ""
    return words.gettext(
        "If water is shut off, a passing test in our record brings it back: call us."
    )


def _fire(brief: Brief, *, steps: Sequence[Step], words: Words) -> str:
    speaks_of_order = any(step.kind == LetterKind.SHUTOFF_ORDER for step in steps)
    is_test = brief.work is Work.TEST
    dedicated = is_test and any(item.fire is FireLine.DEDICATED for item in brief.items)
    late = brief.kind in {LetterKind.SECOND_OVERDUE, LetterKind.FINAL}
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
        "This order takes effect only with the release of a named person of this office."
    )
    closed = words.gettext(
        "A passing test closes the matter: once it is in our record there is no ground for the "
        "order. Call us about turning water back on."
    )
    return sentence_list([cited(sent, brief.citation), released, closed])
