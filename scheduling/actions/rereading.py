"""Due dates after a change of rules where histories must be read: streamed, written in bulk.

Nothing that closed before the change moves, so only what is open or coming is compared and
written, by one statement for many assemblies. What does not fit that goes through replay's
own storing.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Final

from django.db import connection, transaction

from registry.models import Program
from registry.pouring import pour
from scheduling.actions.replaying import Progress, take_turn
from scheduling.actions.states import DATES, dates_stored
from scheduling.actions.storing import RowSource, values_of
from scheduling.domain.ledger import Ledger
from scheduling.domain.likeness import Likeness, likeness_of, rounds_of
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.replay import Targets, replay
from scheduling.models import AssemblyState
from scheduling.models import Obligation as Row
from scheduling.queries.histories import History, histories, last_fact_on
from scheduling.queries.rulebooks import Books

CHUNK = 5_000
ROW: Final = ("origin", "period", "opens_on", "due_on", "failed_on", "cure_by", "rulebook_id",
              "rule", "prompts", "detail", "next_action_on", "likeness", "rounds")  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Rereading:
    """A program, its rules, and the day from which they differ from those stored dates follow."""

    program: Program
    books: Books
    changed_on: date
    as_of: date
    at: datetime


@dataclass(slots=True)
class _Writes:
    rows: list[list[Any]] = field(default_factory=list)
    states: list[list[Any]] = field(default_factory=list)
    others: list[int] = field(default_factory=list)


def reread(
    what: Rereading, *, ids: Sequence[int], progress: Progress | None = None
) -> tuple[int, list[int]]:
    """Work assemblies out anew; return how many rows were written, and the ids left to replay."""
    written, others = 0, []
    for start in range(0, len(ids), CHUNK):
        chunk = ids[start : start + CHUNK]
        with transaction.atomic():
            take_turn(what.program)
            found = _worked_out(what, ids=chunk)
            written += _write_rows(found.rows, what=what)
            _write_states(found.states, what=what)
        others += found.others
        if progress is not None:
            progress(start + len(chunk), len(ids))
    return written, others


def _worked_out(what: Rereading, *, ids: Sequence[int]) -> _Writes:
    found = _Writes()
    for history in histories(program=what.program, ids=ids, books=what.books, dates=DATES):
        subject = history.subject
        ledger = replay(
            timeline=subject.timeline,
            facts=subject.facts,
            left={},
            as_of=what.as_of,
            targets=_targets(history),
        )
        likeness = likeness_of(
            shapes=subject.timeline.attributes, facts=subject.facts, ledger=ledger
        )
        values = _row_after(history, ledger=ledger, likeness=likeness, what=what)
        if values is None:
            found.others.append(subject.assembly_id)
            continue
        stored = history.unclosed[0]
        if any(stored[name] != values[name] for name in ROW):
            found.rows.append([stored["id"], *_written(values)])
        dates = dates_stored(ledger, likeness=likeness)
        if history.state != {"assembly_id": subject.assembly_id, **dates}:
            found.states.append([subject.assembly_id, *dates.values()])
    return found


def _row_after(
    history: History, *, ledger: Ledger, likeness: Likeness | None, what: Rereading
) -> Mapping[str, Any] | None:
    """Return what the one row not closed becomes; None where more than that may change."""
    subject = history.subject
    last = last_fact_on(subject)
    current = _only_unclosed(ledger)
    if (
        last is None
        or last >= what.changed_on
        or current is None
        or len(history.unclosed) != 1
        or history.state is None
        or ledger.questions
        or any(o.closed_on is not None and o.closed_on >= what.changed_on
               for o in ledger.obligations)
    ):  # fmt: skip
        return None
    stored, key = history.unclosed[0], current.key
    is_same = (stored["kind"], stored["origin"], stored["period"]) == (
        key.kind,
        key.origin_text,
        key.period_text,
    )
    if stored["kind"] != key.kind or (stored["opened_on"] is not None and not is_same):
        return None
    source = RowSource(
        program=what.program,
        assembly_id=subject.assembly_id,
        next_actions=ledger.next_actions,
        rulebook_ids=what.books.row_ids,
        as_of=what.as_of,
        at=what.at,
        likeness=likeness,
        rounds=rounds_of(subject.facts),
    )
    return values_of(current, source=source)


def _targets(history: History) -> Targets:
    """Return the days to which what is not closed was levelled."""
    return {
        ObligationKey.from_texts(kind=row["kind"], origin=row["origin"], period=row["period"]): row[
            "target_on"
        ]
        for row in history.unclosed
        if row["target_on"] is not None
    }


def _only_unclosed(ledger: Ledger) -> Obligation | None:
    found = [o for o in (*ledger.obligations, *ledger.coming) if o.closed_on is None]
    return found[0] if len(found) == 1 else None


def _written(values: Mapping[str, Any]) -> list[Any]:
    plain = {**values, "prompts": json.dumps(values["prompts"]),
             "detail": json.dumps(values["detail"])}  # fmt: skip
    return [plain[name] for name in ROW]


_ROW_TABLE, _STATE_TABLE = Row._meta.db_table, AssemblyState._meta.db_table
_NEW_ROWS: Final = (
    f"CREATE TEMPORARY TABLE new_rows AS SELECT id, {', '.join(ROW)} FROM {_ROW_TABLE}"  # noqa: S608
    " WHERE 1 = 0"
)
_NEW_STATES: Final = (
    f"CREATE TEMPORARY TABLE new_states AS SELECT assembly_id, {', '.join(DATES)}"  # noqa: S608
    f" FROM {_STATE_TABLE} WHERE 1 = 0"
)
_UPDATE_ROWS: Final = (
    f"UPDATE {_ROW_TABLE} AS o SET {', '.join(f'{name} = n.{name}' for name in ROW)},"  # noqa: S608
    " updated_at = %s FROM new_rows n WHERE o.id = n.id"
)
_UPDATE_STATES: Final = (
    f"UPDATE {_STATE_TABLE} AS s SET {', '.join(f'{name} = n.{name}' for name in DATES)},"  # noqa: S608
    " replayed_as_of = %s, replayed_at = %s FROM new_states n WHERE s.assembly_id = n.assembly_id"
)


def _write_rows(rows: Sequence[Sequence[Any]], *, what: Rereading) -> int:
    if not rows:
        return 0
    with connection.cursor() as cursor:
        cursor.execute(_NEW_ROWS)
        pour(table="new_rows", columns=["id", *ROW], rows=rows)
        cursor.execute(_UPDATE_ROWS, [_moment(what)])
        cursor.execute("DROP TABLE new_rows")
    return len(rows)


def _write_states(rows: Sequence[Sequence[Any]], *, what: Rereading) -> None:
    if not rows:
        return
    with connection.cursor() as cursor:
        cursor.execute(_NEW_STATES)
        pour(table="new_states", columns=["assembly_id", *DATES], rows=rows)
        cursor.execute(_UPDATE_STATES, [what.as_of, _moment(what)])
        cursor.execute("DROP TABLE new_states")


def _moment(what: Rereading) -> Any:
    return Row._meta.get_field("updated_at").get_db_prep_save(what.at, connection)
