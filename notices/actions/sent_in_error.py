"""Notices that were sent in error count for nothing, and a letter of correction says so, once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.extra_letters import Wanted, write_letter
from notices.delivery.settling import set_next_days
from notices.domain.answers import Error, Wrong, correction, name_of
from notices.domain.briefs import Words
from notices.domain.extra_kinds import ExtraKind
from notices.domain.kinds import COURTESY_KINDS, Work
from notices.domain.owing import error_occurrence
from notices.domain.plain_letters import Text
from notices.models import Letter, LetterNotice, Notice
from notices.queries.briefs import item_of, sender_of
from notices.queries.responsible import recipients
from registry.changes import Hand, record_change
from registry.console import Refused
from scheduling.models import Obligation

ROW = ("obligation__rulebook", "obligation__program", "obligation__assembly__state",
       "obligation__assembly__premises", "obligation__assembly__connection",
       "obligation__connection__premises", "obligation__premises")  # fmt: skip


def find_in_error(
    reasons: Mapping[int, str], *, error: Error, day: Day, hand: Hand, writes: bool = True
) -> list[Letter]:
    """Mark notices that left as sent in error, each for its reason, and write the corrections.

    What was marked before stays. The rungs are owed anew as the ladder asks. Reminders, which
    no law asks for, are marked and not written about; nothing is written where another letter
    says it (not `writes`). Returns the letters written now.
    """
    with transaction.atomic():
        locked_clock(day.program)
        rows = list(
            Notice.objects.select_for_update(of=("self",))
            .filter(
                program=day.program,
                pk__in=list(reasons),
                left_on__isnull=False,
                withdrawn_on__isnull=True,
                sent_in_error_on__isnull=True,
            )
            .select_related(*ROW)
            .order_by("pk")
        )
        for notice in rows:
            _mark(notice, reason=reasons[notice.pk], day=day, hand=hand)
        ids = {row.obligation_id for row in rows if row.obligation_id is not None}
        set_next_days(sorted(ids), day=day)
        Obligation.objects.filter(
            pk__in=ids, closed_on__isnull=True, next_action_on__lt=day.on
        ).update(next_action_on=day.on)
    return _correct(rows, error=error, day=day) if writes else []


def mark_letter(letter: Letter, *, reason: str, day: Day, hand: Hand) -> list[Letter]:
    """Mark what a letter said as sent in error, as a person found. Refused without a reason."""
    if not reason.strip():
        raise Refused("Write what was wrong; the reason is kept.")
    if letter.left_on is None:
        raise Refused("It has not left: it can be withdrawn by mending the record.")
    ids = LetterNotice.objects.filter(letter=letter).values_list("notice_id", flat=True)
    open_ones = Notice.objects.filter(pk__in=list(ids), sent_in_error_on__isnull=True)
    if not open_ones.exists():
        raise Refused("Everything it said is marked already.")
    reasons = dict.fromkeys(ids, reason.strip())
    return find_in_error(reasons, error=Error.RECORD, day=day, hand=hand)


def _mark(notice: Notice, *, reason: str, day: Day, hand: Hand) -> None:
    Notice.objects.filter(pk=notice.pk).update(
        sent_in_error_on=day.on,
        sent_in_error_reason=reason[:500],
        sent_in_error_by=hand.by,
        occurrence=error_occurrence(notice.occurrence, notice_id=notice.pk),
    )
    record_change(
        hand=hand,
        what="notice",
        subject_id=notice.pk,
        label=str(notice),
        before={"sent_in_error": False},
        after={"sent_in_error": True, "why": reason},
        program=day.program,
    )


def _correct(rows: Sequence[Notice], *, error: Error, day: Day) -> list[Letter]:
    """Write to every recipient of a lawful letter that carried these notices, once."""
    carried = (
        LetterNotice.objects.filter(notice__in=[row.pk for row in rows])
        .exclude(letter__kind__in=COURTESY_KINDS)
        .filter(letter__left_on__isnull=False)
        .select_related("letter")
        .order_by("letter_id", "notice_id")
    )
    by_letter: dict[int, list[LetterNotice]] = defaultdict(list)
    for one in carried:
        by_letter[one.letter_id].append(one)
    by_id = {row.pk: row for row in rows}
    return [
        _write(
            mine[0].letter, notices=[by_id[one.notice_id] for one in mine],
            error=error, day=day,
        )
        for mine in by_letter.values()
    ]  # fmt: skip


def _write(letter: Letter, *, notices: Sequence[Notice], error: Error, day: Day) -> Letter:
    assert letter.left_on is not None
    wrong = Wrong(
        kind=letter.kind,
        number=letter.number,
        left_on=letter.left_on,
        error=error,
        work=Work(letter.content.get("work") or Work.TEST),
    )
    (recipient,) = recipients([letter.recipient_key]).values()
    return write_letter(
        Wanted(
            kind=ExtraKind.CORRECTION,
            key=f"error:{letter.pk}:{notices[0].pk}",
            recipient=recipient,
            text_in=_text(wrong, notices=notices, day=day),
            needs_release=False,
        ),
        day=day,
    )


def _text(wrong: Wrong, *, notices: Sequence[Notice], day: Day) -> Callable[[Words], Text]:
    rows = [notice.obligation for notice in notices if notice.obligation is not None]
    owing = {row.pk for row in rows if _still_owes(row, today=day.on)}
    items = [item_of(row) for row in rows]
    open_ones = frozenset(
        name_of(item) for item, row in zip(items, rows, strict=True) if row.pk in owing
    )

    def text_in(words: Words) -> Text:
        return correction(
            wrong, items=items, open_ones=open_ones, sender=sender_of(day.program), words=words
        )

    return text_in


def _still_owes(row: Obligation, *, today: date) -> bool:
    """Whether the obligation, or the one in its place, is open today."""
    now = Obligation.objects.filter(pk=row.pk, closed_on__isnull=True, opened_on__lte=today)
    if now.exists():
        return True
    heir = Obligation.objects.filter(pk=row.successor_id or 0, closed_on__isnull=True)
    return heir.filter(opened_on__lte=today).exists()
