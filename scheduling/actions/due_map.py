"""The statements that write what groups of assemblies become, through two temporary tables.

`due_map` holds a row for each group: what tells it apart, what its obligations say after the
change, and how sure that is; `state_map` the same of states. Call them in this order, in one
transaction.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from enum import IntEnum
from typing import Any, Final

from django.db import connection

from registry.pouring import pour
from scheduling.models import AssemblyState
from scheduling.models import Obligation as Row
from scheduling.queries.plain import KEY, key_in_sql, plain_in_sql

NEW: Final = ("origin", "period", "opens_on", "due_on", "rule", "rulebook_id", "detail",
              "next_action_on")  # fmt: skip
"""What may differ afterwards; the rest is as replay would leave it."""

STATE_KEY: Final = ("likeness", "opens_on", "due_on")
"""The columns by which states are told apart."""


PARTED: Final = (None, None)
"""In place of the new dates of a state: those with this key part, each with its obligation."""


class Settled(IntEnum):
    """Whether a group is settled: its histories must be read, its rows may differ, or do."""

    READ = 0
    MAY_DIFFER = 1
    DIFFERS = 2


_ROWS, _STATES = Row._meta.db_table, AssemblyState._meta.db_table
_NEW_COLUMNS: Final = tuple(f"new_{name}" for name in NEW)
_CHANGED: Final = " OR ".join(f"o.{name} IS DISTINCT FROM m.new_{name}" for name in NEW)
_STATE_MAP: Final = (
    "CREATE TEMPORARY TABLE state_map AS SELECT likeness, opens_on, due_on,"  # noqa: S608
    f" opens_on AS new_opens_on, due_on AS new_due_on FROM {_STATES} WHERE 1 = 0"
)
_WRITE_STATES: Final = (
    f"UPDATE {_STATES} AS s SET opens_on = m.new_opens_on, due_on = m.new_due_on,"  # noqa: S608
    " replayed_as_of = %s, replayed_at = %s FROM state_map m WHERE s.program_id = %s"
    " AND m.new_due_on IS NOT NULL"
    " AND s.likeness = m.likeness AND s.opens_on = m.opens_on AND s.due_on = m.due_on"
)
_WRITE_PARTED: Final = (
    f"UPDATE {_STATES} AS s SET opens_on = o.opens_on, due_on = o.due_on,"  # noqa: S608
    f" replayed_as_of = %s, replayed_at = %s FROM state_map m, {_ROWS} o WHERE s.program_id = %s"
    " AND m.new_due_on IS NULL AND s.likeness = m.likeness AND s.opens_on = m.opens_on"
    " AND s.due_on = m.due_on AND o.assembly_id = s.assembly_id AND o.closed_on IS NULL"
    " AND (o.opens_on <> s.opens_on OR o.due_on <> s.due_on)"
)
_READ_ALONE: Final = (
    f"SELECT assembly_id FROM {_ROWS} WHERE program_id = %s AND closed_on IS NULL"  # noqa: S608
    f" AND likeness = '' AND assembly_id IS NOT NULL UNION SELECT assembly_id FROM {_STATES}"
    " WHERE program_id = %s AND due_on IS NULL AND (removed_on IS NULL OR removed_on >= %s)"
)
_WITHOUT_STATE: Final = (
    "SELECT id FROM registry_assembly a WHERE program_id = %s AND NOT EXISTS"  # noqa: S608
    f" (SELECT 1 FROM {_STATES} s WHERE s.assembly_id = a.id)"
)
_ODD: Final = (
    f"SELECT o.assembly_id FROM {_ROWS} o WHERE {plain_in_sql(last_rounds=0)}"  # noqa: S608
    " AND o.rounds IS NULL"
)


def make_maps(*, last_rounds: int) -> None:
    """Make empty tables of the groups and what they become, their columns typed like theirs."""
    key = ", ".join(f"{sql} AS {name}" for name, sql in key_in_sql(last_rounds=last_rounds).items())
    new = ", ".join(f"o.{name} AS new_{name}" for name in NEW)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":  # which takes a group for one row
            cursor.execute("SET LOCAL work_mem = '64MB'")
            cursor.execute("SET LOCAL enable_nestloop = off")
        cursor.execute(
            f"CREATE TEMPORARY TABLE due_map AS SELECT {key}, {new}, 1 AS settled"  # noqa: S608
            f" FROM {_ROWS} o WHERE 1 = 0"
        )
        cursor.execute(_STATE_MAP)


def fill_maps(*, groups: Iterable[Sequence[Any]], states: Iterable[Sequence[Any]]) -> None:
    """Add groups (the columns of KEY, those of NEW, and Settled) and states, old dates and new."""
    pour(table="due_map", columns=[*KEY, *_NEW_COLUMNS, "settled"], rows=groups)
    columns = [*STATE_KEY, "new_opens_on", "new_due_on"]
    pour(table="state_map", columns=columns, rows=states)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE due_map")
            cursor.execute("ANALYZE state_map")
        else:
            cursor.execute("CREATE INDEX temp.due_map_key ON due_map (likeness, due_on)")
            cursor.execute("CREATE INDEX temp.state_map_key ON state_map (likeness, due_on)")


def not_settled(*, program_id: int, changed_on: date, last_rounds: int) -> list[int]:
    """Return the assemblies of a program that no group settles, in order; ask before writing.

    Of one removed before the change nothing is owed, and nothing that closed moves.
    """
    plain = plain_in_sql(last_rounds=last_rounds)
    refused = (
        f"SELECT o.assembly_id FROM {_ROWS} o JOIN due_map m ON {_same(last_rounds)}"  # noqa: S608
        f" WHERE {plain} AND m.settled = {Settled.READ}"
    )
    found = _ids(_READ_ALONE, program_id, program_id, changed_on)
    if _number("registry_assembly", program_id) != _number(_STATES, program_id):
        found |= _ids(_WITHOUT_STATE, program_id)
    if last_rounds:
        found |= _ids(_ODD, program_id)
    if _has(Settled.READ):
        found |= _ids(refused, program_id)
    return sorted(found)


def _ids(command: str, *values: Any) -> set[int]:
    with connection.cursor() as cursor:
        cursor.execute(command, values)
        return {key for (key,) in cursor.fetchall()}


def _number(table: str, program_id: int) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(*) FROM {table} WHERE program_id = %s", [program_id])  # noqa: S608
        return int(cursor.fetchone()[0])


def _has(*settled: Settled) -> bool:
    listed = ", ".join(str(int(one)) for one in settled)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT 1 FROM due_map WHERE settled IN ({listed}) LIMIT 1")  # noqa: S608
        return cursor.fetchone() is not None


def write(*, program_id: int, last_rounds: int, as_of: date, moment: Any) -> int:
    """Write what differs; return how many obligations that were."""
    command = _each_its_own(last_rounds)
    if connection.vendor == "postgresql" or _has(Settled.READ, Settled.MAY_DIFFER):
        command = _joined(last_rounds)
    with connection.cursor() as cursor:
        cursor.execute(command, [moment, program_id])
        written = cursor.rowcount
        cursor.execute(_WRITE_STATES, [as_of, moment, program_id])
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL enable_nestloop TO DEFAULT")
        cursor.execute("SELECT 1 FROM state_map WHERE new_due_on IS NULL LIMIT 1")
        if cursor.fetchone() is not None:
            cursor.execute(_WRITE_PARTED, [as_of, moment, program_id])
        cursor.execute("DROP TABLE due_map")
        cursor.execute("DROP TABLE state_map")
    return int(written)


def _joined(last_rounds: int) -> str:
    """Return the statement that joins the map, and skips rows that say it already."""
    return (
        f"UPDATE {_ROWS} AS o SET"  # noqa: S608
        f" {', '.join(f'{name} = m.new_{name}' for name in NEW)}, updated_at = %s FROM due_map m"
        f" WHERE {plain_in_sql(last_rounds=last_rounds)} AND {_same(last_rounds)}"
        f" AND (m.settled = {Settled.DIFFERS} OR (m.settled = {Settled.MAY_DIFFER}"
        f" AND ({_CHANGED})))"
    )


def _each_its_own(last_rounds: int) -> str:
    """Return the statement for SQLite where every row differs: it joins by way of a copy of all."""
    return (
        f"UPDATE {_ROWS} AS o SET ({', '.join(NEW)}) = (SELECT"  # noqa: S608
        f" {', '.join(_NEW_COLUMNS)} FROM due_map m WHERE {_same(last_rounds)}), updated_at = %s"
        f" WHERE {plain_in_sql(last_rounds=last_rounds)}"
    )


def _same(last_rounds: int) -> str:
    """Return when an obligation (`o`) is of a group (`m`)."""
    key = key_in_sql(last_rounds=last_rounds)
    may_lack = f"m.target_on IS NOT DISTINCT FROM {key.pop('target_on')}"
    return " AND ".join([*(f"m.{name} = {sql}" for name, sql in key.items()), may_lack])
