"""Ledgers against stored obligations: what stays, changes, is new, superseded or dropped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from registry.models import Program
from scheduling.domain.ledger import Ledger
from scheduling.domain.likeness import HISTORY_COUNTS, Likeness
from scheduling.domain.obligations import ClosedHow, Obligation, ObligationKey, Origin
from scheduling.models import Obligation as Row

FIELDS = (
    "origin",
    "period",
    "opens_on",
    "due_on",
    "failed_on",
    "cure_by",
    "closed_on",
    "closed_how",
    "rulebook_id",
    "rule",
    "prompts",
    "detail",
    "next_action_on",
    "likeness",
    "rounds",
)
"""What replay decides about a row; the rest (opened_on, target_on, lawful_since …) it leaves."""

UPDATED = [
    *(name.removesuffix("_id") for name in FIELDS),
    "successor",
    "updated_at",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSource:
    """What every row of one subject is written from; one of the three ids names it.

    `more`: what else letters need of an obligation, kept in its detail. `likeness`: what its
    assembly shares with others, None where its history counts; `rounds`: how its last ones ended.
    """

    program: Program
    next_actions: Mapping[ObligationKey, date]
    rulebook_ids: Mapping[str, int]
    as_of: date
    at: datetime
    assembly_id: int | None = None
    connection_id: int | None = None
    premises_id: int | None = None
    more: Mapping[ObligationKey, Mapping[str, Any]] = field(default_factory=dict)
    likeness: Likeness | None = None
    rounds: int | None = None


@dataclass(slots=True)
class Plan:
    """The rows of one subject to write."""

    new: list[Row] = field(default_factory=list)
    changed: list[Row] = field(default_factory=list)
    superseded: list[tuple[Row, Row | None]] = field(default_factory=list)
    dropped: list[Row] = field(default_factory=list)


def plan_rows(
    *,
    ledger: Ledger,
    rows: Sequence[Row],
    source: RowSource,
) -> Plan:
    """Return what must be written for the stored rows to say what the ledger says.

    A row is known again by its key. A coming row, which no run has opened, takes the key
    of the obligation that stands in its place, so that what points at it still does.
    """
    plan = Plan()
    by_key = {(row.kind, row.origin, row.period): row for row in rows}
    missing: list[Obligation] = []
    for obligation in (*ledger.obligations, *ledger.coming):
        key = obligation.key
        row = by_key.pop((key.kind, key.origin_text, key.period_text), None)
        if row is None:
            missing.append(obligation)
        else:
            _make_say(plan, row, obligation, source=source)
    orphans = [row for row in by_key.values() if row.closed_how != ClosedHow.SUPERSEDED]
    _place_missing(plan, missing=missing, orphans=orphans, source=source)
    _retire(plan, orphans=orphans, ledger=ledger, rows=rows, source=source)
    return plan


def _place_missing(
    plan: Plan,
    *,
    missing: Sequence[Obligation],
    orphans: list[Row],
    source: RowSource,
) -> None:
    """Give each obligation without a row an unopened one that lost its key, or a new one."""
    for obligation in reversed(missing):
        free = next((row for row in orphans if _can_become(row, obligation)), None)
        if free is not None:
            orphans.remove(free)
            _make_say(plan, free, obligation, source=source)
            continue
        row = Row(
            program=source.program,
            assembly_id=source.assembly_id,
            connection_id=source.connection_id,
            premises_id=source.premises_id,
            kind=obligation.kind,
        )
        _assign(row, values_of(obligation, source=source))
        row.updated_at = source.at
        plan.new.append(row)
    plan.new.reverse()


def _can_become(row: Row, obligation: Obligation) -> bool:
    return row.kind == obligation.kind and row.opened_on is None and row.closed_on is None


def _retire(
    plan: Plan,
    *,
    orphans: Sequence[Row],
    ledger: Ledger,
    rows: Sequence[Row],
    source: RowSource,
) -> None:
    """Supersede the rows that a run opened and whose key is gone; drop the others."""
    for row in orphans:
        if row.opened_on is None:
            plan.dropped.append(row)
            continue
        row.closed_on = row.closed_on or source.as_of
        row.closed_how = ClosedHow.SUPERSEDED.value
        row.next_action_on = None
        row.updated_at = source.at
        plan.superseded.append((row, _successor(row, plan=plan, ledger=ledger, rows=rows)))


def _successor(row: Row, *, plan: Plan, ledger: Ledger, rows: Sequence[Row]) -> Row | None:
    """Return the row that stands in the place of a superseded one.

    The new row nearest in its due date, else the one of what is owed now.
    """
    fresh = [new for new in (*plan.new, *plan.changed) if new.kind == row.kind]
    if fresh:
        return min(fresh, key=lambda new: (abs((new.due_on - row.due_on).days), new.due_on))
    current = ledger.open_of(row.kind) or ledger.coming_of(row.kind)
    if current is None:
        return None
    key = (current.key.kind, current.key.origin_text, current.key.period_text)
    return next((r for r in rows if (r.kind, r.origin, r.period) == key), None)


def _make_say(
    plan: Plan,
    row: Row,
    obligation: Obligation,
    *,
    source: RowSource,
) -> None:
    values = values_of(obligation, source=source)
    revived = row.successor_id is not None
    if not revived and all(getattr(row, name) == value for name, value in values.items()):
        return
    _assign(row, values)
    row.successor_id = None
    row.updated_at = source.at
    plan.changed.append(row)


def _assign(row: Row, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        setattr(row, name, value)


def values_of(obligation: Obligation, *, source: RowSource) -> dict[str, Any]:
    """Return what a row says of an obligation: every field of FIELDS."""
    alike = source.likeness if obligation.closed_on is None else None
    return {
        "origin": obligation.key.origin_text,
        "period": obligation.key.period_text,
        "opens_on": obligation.opens_on,
        "due_on": obligation.due_on,
        "failed_on": obligation.failed_on,
        "cure_by": obligation.cure_by,
        "closed_on": obligation.closed_on,
        "closed_how": obligation.closed_how.value if obligation.closed_how else "",
        "rulebook_id": source.rulebook_ids[obligation.rulebook],
        "rule": obligation.rule[:80],
        "prompts": [day.isoformat() for day in obligation.prompts],
        "detail": {**_detail(obligation), **source.more.get(obligation.key, {})},
        "next_action_on": source.next_actions.get(obligation.key),
        "likeness": alike.words if alike is not None else "",
        "rounds": source.rounds if alike is not None else _history_counts(obligation, source),
    }


def _history_counts(obligation: Obligation, source: RowSource) -> int | None:
    """Return what tells that replay was asked: of what an assembly owes and no likeness settles."""
    is_asked = obligation.closed_on is None and source.assembly_id is not None
    return HISTORY_COUNTS if is_asked else None


def _detail(obligation: Obligation) -> dict[str, Any]:
    """Return what ladders and reasons need beyond the columns; what is as usual is left out."""
    detail: dict[str, Any] = {"citation": obligation.citation}
    if obligation.is_suspended:
        detail["is_suspended"] = True
    if obligation.courtesy_is_over:
        detail["courtesy_is_over"] = True
    if obligation.pauses:
        detail["pauses"] = [
            [pause.since.isoformat(), pause.ends.isoformat() if pause.ends is not None else None]
            for pause in obligation.pauses
        ]
    if obligation.key.origin is Origin.NO_DATE:
        detail["no_date_known"] = True
    return detail


def write_plans(plans: Sequence[Plan]) -> None:
    """Write the rows of many subjects, set-based, in the order the constraints ask for."""
    dropped = [row.pk for plan in plans for row in plan.dropped]
    for start in range(0, len(dropped), 500):
        Row.objects.filter(pk__in=dropped[start : start + 500]).delete()
    superseded = [pair for plan in plans for pair in plan.superseded]
    _write([row for row, _ in superseded])
    _write([row for plan in plans for row in plan.changed])
    Row.objects.bulk_create([row for plan in plans for row in plan.new], batch_size=500)
    for row, successor in superseded:
        row.successor = successor
    _write([row for row, successor in superseded if successor is not None])


def _write(rows: Sequence[Row]) -> None:
    """Write rows that exist, by one upsert a batch: an UPDATE by cases is far slower."""
    if rows:
        Row.objects.bulk_create(
            rows,
            batch_size=500,
            update_conflicts=True,
            unique_fields=["id"],
            update_fields=UPDATED,
        )
