"""Change rows: written by actions, one for each change by hand and one for each load."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from registry.models import Change, Firm, LoadBatch, Program


@dataclass(frozen=True, kw_only=True)
class Hand:
    """Whose hand it was, when, and the reason given."""

    by: str
    at: datetime
    reason: str = ""


def record_change(
    *,
    hand: Hand,
    what: str,
    subject_id: int | None,
    label: str,
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    program: Program | None = None,
    firm: Firm | None = None,
    batch: LoadBatch | None = None,
) -> Change | None:
    """Write one change row holding only the fields that differ; None where nothing does.

    `before` is empty for something new, `after` for something taken away. Values must be
    what JSON can hold: dates and Decimals come as text.
    """
    change = _differing(
        hand=hand,
        what=what,
        subject_id=subject_id,
        label=label,
        before=before,
        after=after,
        program=program,
        firm=firm,
        batch=batch,
    )
    if change is not None:
        change.save()
    return change


def record_changes(
    *,
    hand: Hand,
    what: str,
    labels: Mapping[int, str],
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    program: Program,
) -> None:
    """Write one change row for each of many subjects that changed alike, a label for each id."""
    rows = [
        _differing(
            hand=hand,
            what=what,
            subject_id=subject_id,
            label=label,
            before=before,
            after=after,
            program=program,
        )
        for subject_id, label in labels.items()
    ]
    Change.objects.bulk_create([row for row in rows if row is not None], batch_size=500)


def _differing(
    *,
    hand: Hand,
    what: str,
    subject_id: int | None,
    label: str,
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    program: Program | None = None,
    firm: Firm | None = None,
    batch: LoadBatch | None = None,
) -> Change | None:
    names = [name for name in {**before, **after} if before.get(name) != after.get(name)]
    if not names:
        return None
    return Change(
        program=program,
        firm=firm,
        at=hand.at,
        by=hand.by,
        what=what,
        subject_id=subject_id,
        label=label[:300],
        before={name: before[name] for name in names if name in before},
        after={name: after[name] for name in names if name in after},
        reason=hand.reason[:500],
        batch=batch,
    )


def record_batch(*, hand: Hand, batch: LoadBatch, differences: list[dict[str, Any]]) -> Change:
    """Write the one change row of a load, with the differences of its rows."""
    return Change.objects.create(
        program=batch.program,
        at=hand.at,
        by=hand.by,
        what=f"load of {batch.what}"[:60],
        subject_id=batch.pk,
        label=batch.file_name[:300],
        after={"rows": differences},
        reason=hand.reason[:500],
        batch=batch,
    )
