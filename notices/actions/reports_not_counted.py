"""Writes of a report that came in and does not count, once, to who is bound."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta

from notices.actions.clocks import Day
from notices.actions.extra_letters import Wanted, write_letter
from notices.domain.answers import report_not_counted
from notices.domain.briefs import Words
from notices.domain.extra_kinds import ExtraKind
from notices.domain.in_hand import ReportInHand
from notices.domain.kinds import LetterState
from notices.domain.plain_letters import Text
from notices.models import Letter, LetterAbout
from notices.queries.briefs import item_of, sender_of
from notices.queries.hindered import began_on
from notices.queries.reports_in_hand import not_counted_since
from notices.queries.responsible import Recipient, recipient_keys, recipients
from registry.models import Program
from scheduling.models import Obligation
from scheduling.queries.where import WHERE

DAYS = 60
"""Reports tested longer ago than this are not written about: the ladder's letters name them."""


def tell_of_reports(day: Day) -> list[Letter]:
    """Write what has not been told yet of reports of open obligations; a person releases it."""
    reports = not_counted_since(day.program, day=day.on - timedelta(days=DAYS))
    told = _told(day.program)
    fresh = [one for one in reports if _key(one) not in told]
    rows = _open_rows(fresh)
    keys = recipient_keys([row.where.pk for row in rows.values()], today=day.on)
    written: list[Letter] = []
    for report in fresh:
        row = rows.get(report.assembly_id)
        if row is None or report.tested_on < began_on(row):
            continue
        (recipient,) = recipients([keys[row.where.pk]]).values()
        written.append(_write(report, row=row, recipient=recipient, day=day))
    return written


def withdraw_mended(day: Day) -> int:
    """Withdraw such letters that wait for release while a report counts by now, or is closed."""
    waiting = LetterAbout.objects.filter(
        program=day.program, key__startswith="report:", letter__state=LetterState.COMPOSED
    )
    reports = not_counted_since(day.program, day=day.on - timedelta(days=2 * DAYS))
    rows = _open_rows(reports)
    standing = {_key(one) for one in reports if one.assembly_id in rows}
    gone = [one.letter_id for one in waiting if one.key not in standing]
    return Letter.objects.filter(pk__in=gone, state=LetterState.COMPOSED).update(
        state=LetterState.WITHDRAWN,
        ended_on=day.on,
        ended_reason="A report counts by now, or nothing is owed any more.",
    )


def _key(report: ReportInHand) -> str:
    return f"report:{report.ref}"


def _told(program: Program) -> set[str]:
    rows = LetterAbout.objects.filter(program=program, key__startswith="report:")
    return set(rows.values_list("key", flat=True))


def _open_rows(reports: Sequence[ReportInHand]) -> Mapping[int, Obligation]:
    ids = {one.assembly_id for one in reports}
    rows = Obligation.objects.filter(
        assembly__in=ids, opened_on__isnull=False, closed_on__isnull=True
    )
    read = rows.select_related("program", "rulebook", "assembly__state", *WHERE)
    return {row.its_assembly_id: row for row in read.order_by("pk")}


def _write(report: ReportInHand, *, row: Obligation, recipient: Recipient, day: Day) -> Letter:
    return write_letter(
        Wanted(
            kind=ExtraKind.REPORT,
            key=_key(report),
            recipient=recipient,
            text_in=_text(report, row=row, day=day),
        ),
        day=day,
    )


def _text(report: ReportInHand, *, row: Obligation, day: Day) -> Callable[[Words], Text]:
    item, sender = item_of(row), sender_of(day.program)

    def text_in(words: Words) -> Text:
        return report_not_counted(report, item=item, sender=sender, words=words)

    return text_in
