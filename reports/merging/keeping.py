"""The row that keeps a merge, and the one change row that tells of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from registry.changes import Hand, record_change
from registry.models import Assembly, Merge, Party, Program
from reports.merging.rows import Record
from reports.merging.touching import remember


def begin(
    *,
    program: Program,
    kept: Party | Assembly,
    gone_id: int,
    gone_label: str,
    today: date,
    hand: Hand,
) -> Merge:
    """Write the row of a merge; `finish` gives it what an undoing needs."""
    return Merge.objects.create(
        program=program,
        what=kept._meta.model_name or "",
        kept_id=kept.pk,
        kept_label=str(kept)[:300],
        gone_id=gone_id,
        gone_label=gone_label[:300],
        at=hand.at,
        on=today,
        by=hand.by,
        reason=hand.reason[:500],
    )


def finish(
    merge: Merge,
    *,
    kept: Party | Assembly,
    record: Record,
    before: Mapping[str, object],
    after: Mapping[str, object],
    hand: Hand,
) -> None:
    """Keep how everything stands now that it is done, and write the change row."""
    remember(kept, record=record)
    merge.record = record.to_json()
    merge.save(update_fields=["record"])
    record_change(
        hand=hand,
        what=merge.what,
        subject_id=kept.pk,
        label=str(merge),
        before={**before, "merged": ""},
        after={**after, "merged": merge.gone_label},
        program=merge.program,
    )
