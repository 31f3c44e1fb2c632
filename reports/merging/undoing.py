"""A merge undone within thirty days: both rows as they were, what moved where it came from."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from django.apps import apps
from django.db import models, transaction

from notices.models import LetterNotice, Notice
from registry.changes import Hand, record_change
from registry.models import Assembly, HazardAssessment, Merge, Party
from reports.merging.rows import Record, bring_back, point_back
from reports.merging.touching import touched_since
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.replaying import replay_assemblies
from scheduling.actions.standing_board import renew_board
from scheduling.models import Obligation

UNDO_DAYS = 30
_MODELS: Mapping[str, type[models.Model]] = {"party": Party, "assembly": Assembly}


def may_be_undone(merge: Merge, *, today: date) -> bool:
    """Say whether a merge is young enough and stands."""
    return merge.undone_at is None and today <= merge.on + timedelta(days=UNDO_DAYS)


@transaction.atomic
def undo_merge(*, merge: Merge, today: date, hand: Hand) -> None:
    """Undo a merge. Raises RefusedChangeError after thirty days, or naming what was touched."""
    merge = Merge.objects.select_for_update(of=("self",)).select_related("program").get(pk=merge.pk)
    if not may_be_undone(merge, today=today):
        raise RefusedChangeError(
            field="", message=f"A merge is undone within {UNDO_DAYS} days, and once."
        )
    record = Record.from_json(merge.record)
    kept = _MODELS[merge.what]._base_manager.filter(pk=merge.kept_id).first()
    if kept is None:
        raise RefusedChangeError(
            field="", message=f"{merge.kept_label} was merged again since. Undo that one first."
        )
    touched = touched_since(kept, record=record)
    if touched:
        raise RefusedChangeError(field="", message=_told(touched))
    merge.aliases.all().delete()
    bring_back(record.kept)
    bring_back(record.gone)
    point_back(record, to=merge.gone_id, labels=list(record.moved))
    if merge.what == "party":
        _recipients_back(record, gone=merge.gone_id)
    else:
        _obligations_back(record, merge=merge)
    bring_back(record.dropped)
    _close(merge, hand=hand, today=today)


def _told(touched: list[str]) -> str:
    shown = "; ".join(touched[:8])
    more = f"; and {len(touched) - 8} more" if len(touched) > 8 else ""
    return f"Touched since, so it cannot be undone as a whole: {shown}{more}."


def _recipients_back(record: Record, *, gone: int) -> None:
    for label, ids in record.made.items():
        app_model, _, column = label.rpartition(".")
        if column == "recipient_key":
            model = apps.get_model(app_model)
            model._base_manager.filter(pk__in=ids).update(recipient_key=f"party:{gone}")
    LetterNotice.objects.filter(pk__in=record.made.get("doubled", [])).update(is_live=True)


def _obligations_back(record: Record, *, merge: Merge) -> None:
    """Put every obligation back to what it was; what replay made since gives way."""
    ids = {int(text["pk"]) for text in record.owed}
    HazardAssessment.objects.filter(
        pk__in=record.made.get("registry.HazardAssessment", [])
    ).delete()
    now = Obligation.objects.filter(assembly__in=(merge.kept_id, merge.gone_id))
    for row in now:  # free every key first, so that rows may swap them
        row.period, row.opened_on = f"undone {row.pk}", None
        row.save(update_fields=["period", "opened_on"])
    bring_back([{**text, "fields": {**text["fields"], "successor": None}} for text in record.owed])
    for notice_id, obligation_id in record.notices.items():
        Notice.objects.filter(pk=int(notice_id)).update(obligation_id=obligation_id)
    for label, moved in record.made.items():
        if label.startswith("owed "):
            _, number, pointer = label.split(" ", 2)
            app_model, _, column = pointer.rpartition(".")
            model = apps.get_model(app_model)
            model._base_manager.filter(pk__in=moved).update(**{column: int(number)})
    now.exclude(pk__in=ids).delete()
    bring_back(record.owed)


def _close(merge: Merge, *, hand: Hand, today: date) -> None:
    merge.undone_at, merge.undone_by = hand.at, hand.by
    merge.save(update_fields=["undone_at", "undone_by"])
    if merge.what == "assembly":
        both = [merge.kept_id, merge.gone_id]
        replay_assemblies(program=merge.program, assembly_ids=both, as_of=today)
        renew_board(program=merge.program, on=today, at=hand.at)
    record_change(
        hand=hand,
        what=merge.what,
        subject_id=merge.kept_id,
        label=f"{merge.gone_label} parted from {merge.kept_label} again",
        before={"merged": merge.gone_label},
        after={"merged": ""},
        program=merge.program,
    )
