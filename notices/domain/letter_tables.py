"""The table of a letter about tests: heads and rows, grouped by premises."""

from __future__ import annotations

from datetime import date

from notices.domain import other_work
from notices.domain.briefs import Brief, Item, Words
from notices.domain.cleaning import capital, clean
from notices.domain.content import Row, RowGroup, Table
from notices.domain.kinds import BEFORE_DUE_KINDS, LetterKind, Work
from notices.domain.long_dates import NO_BREAK
from notices.domain.wording import N_, assembly_lines, day_in, where_lines

CAUSES = (
    N_("Installed"),
    N_("Repaired"),
    N_("Relocated"),
    N_("Incident"),
    N_("Unprotected"),
    N_("Resumed"),
    N_("Reoccupied"),
    N_("Dewinterised"),
    N_("Asked for"),
    N_("No date known"),
)
"""Marked for the catalogue; an item's cause is one of these words."""


LONGEST_WITHIN = 12
"""Rows that stand between the opening and what to do; a longer table is a list at the end."""


def is_long(brief: Brief) -> bool:
    """Say whether the table is a list of its own at the end of the letter."""
    return len(brief.items) > LONGEST_WITHIN


def table(brief: Brief, *, words: Words) -> Table:
    """Return what is owed, one row each; premises are named where there are several."""
    groups: dict[str, list[Item]] = {}
    for item in brief.items:
        groups.setdefault(item.premises_key, []).append(item)
    return Table(
        heads=(
            _heads(brief.kind, words=words)
            if brief.work is Work.TEST
            else other_work.heads(brief, words=words)
        ),
        groups=tuple(
            RowGroup(
                title=clean(items[0].premises) if len(groups) > 1 else "",
                rows=tuple(_row(item, brief=brief, words=words) for item in items),
            )
            for items in groups.values()
        ),
        title=words.gettext("The whole list") if is_long(brief) else "",
    )


def _heads(kind: LetterKind, *, words: Words) -> tuple[str, ...]:
    start = (words.gettext("Assembly"), words.gettext("Where"))
    if kind is LetterKind.REPAIR:
        return (
            *start,
            words.gettext("Failed"),
            words.gettext("Pass by"),
            words.gettext("Standing"),
        )
    if kind is LetterKind.TEST_OWED:
        return (*start, words.gettext("Last passed"), words.gettext("Due"), words.gettext("Why"))
    due = words.gettext("Due") if kind in BEFORE_DUE_KINDS else words.gettext("Was due")
    return (*start, words.gettext("Last passed"), due, words.gettext("Standing"))


def _row(item: Item, *, brief: Brief, words: Words) -> Row:
    if item.work is not Work.TEST:
        return other_work.row_of(item, brief=brief, words=words)
    passed, due = _day(item.last_passed_on, words=words), item.due_on
    stands = _stands(item, day=brief.leaves_on, words=words)
    if brief.kind is LetterKind.REPAIR:
        passed, due = _day(item.failed_on, words=words), item.cure_by or item.due_on
    if brief.kind is LetterKind.TEST_OWED:
        stands = capital(cause_words(item, words=words))
    if brief.kind not in BEFORE_DUE_KINDS and item.cure_by:
        due = item.cure_by
    return Row(
        cells=(
            assembly_lines(item, words=words),
            where_lines(item, words=words),
            (passed,),
            (day_in(due, words=words),),
            (stands,),
        )
    )


def _day(day: date | None, *, words: Words) -> str:
    return day_in(day, words=words) if day else capital(words.gettext("none known"))


def cause_words(item: Item, *, words: Words) -> str:
    """Say what the test is owed for: the event and its day."""
    if not item.cause:
        return words.gettext("first test")
    cause = words.gettext(item.cause)
    return f"{cause} {day_in(item.cause_on, words=words)}" if item.cause_on else cause


def _stands(item: Item, *, day: date, words: Words) -> str:
    limit = item.cure_by or item.due_on
    late = (day - limit).days
    if item.failed_on and late <= 0:
        return words.gettext("Failed")
    if late > 0:
        days = words.ngettext("%(days)s day", "%(days)s days", late) % {"days": f"{late:,}"}
        word = words.gettext("Failed") if item.failed_on else words.gettext("Overdue")
        return f"{word}, {days.replace(' ', NO_BREAK)}"
    return words.gettext("Due") if item.last_passed_on else words.gettext("Untested")
