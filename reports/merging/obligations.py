"""Obligations of a merged assembly: each goes to its counterpart, and its letters with it."""

from __future__ import annotations

from datetime import date

from notices.models import Notice
from registry.models import Assembly
from reports.merging.rows import Record, as_texts, point
from scheduling.domain.obligations import ClosedHow
from scheduling.models import Obligation


def move_obligations(*, gone: Assembly, kept: Assembly, today: date, record: Record) -> None:
    """Move what `gone` owed to `kept`, before a replay works out what is owed now.

    A row of the same key hands its letters to its counterpart and ends. An open one beside an
    open one closes superseded. One that never opened hands over to what is current.
    """
    owed = list(Obligation.objects.filter(assembly__in=(gone.pk, kept.pk)).order_by("pk"))
    record.owed = as_texts(owed)
    mine = [row for row in owed if row.assembly_id == kept.pk]
    by_key = {(row.kind, row.origin, row.period): row for row in mine}
    open_now = {row.kind: row for row in mine if row.closed_on is None and row.opened_on}
    coming = {row.kind: row for row in mine if row.closed_on is None and not row.opened_on}
    for row in (one for one in owed if one.assembly_id == gone.pk):
        never_opened = row.opened_on is None and row.closed_on is None
        current = open_now.get(row.kind) or coming.get(row.kind)
        heir = by_key.get((row.kind, row.origin, row.period))
        heir = heir or (current if never_opened else None)
        if heir is not None:
            _hand_over(row, heir=heir, kept=kept, record=record)
            continue
        if row.closed_on is None and row.kind in open_now:
            row.closed_on, row.closed_how = today, ClosedHow.SUPERSEDED.value
            row.successor, row.next_action_on = open_now[row.kind], None
        row.assembly = kept
        row.save()


def _hand_over(row: Obligation, *, heir: Obligation, kept: Assembly, record: Record) -> None:
    """Give the letters of a row, and whatever else points to it, to its heir; the row ends."""
    for notice_id in Notice.objects.filter(obligation=row).values_list("pk", flat=True):
        record.notices[str(notice_id)] = row.pk
    Notice.objects.filter(obligation=row).update(obligation=heir)
    if row.opened_on is not None and heir.opened_on is None and heir.closed_on is None:
        Obligation.objects.filter(pk=heir.pk).update(opened_on=row.opened_on)
    aside = Record()
    point(Obligation, gone=row.pk, kept=heir.pk, record=aside)
    for label, ids in aside.moved.items():
        record.made.setdefault(f"owed {row.pk} {label}", []).extend(ids)
    record.dropped += aside.dropped
    row.delete()
