"""The statements that write what groups of assemblies become, through temporary tables.

`plain` holds the obligations with what tells groups apart, `due_map` a numbered row for each group
that replay settles, `settled` which obligation is of which number. Call them in this order, in one
transaction.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, Final

from django.db import connection

from registry.pouring import pour
from scheduling.models import AssemblyState
from scheduling.models import Obligation as Row
from scheduling.queries.plain import KEY

NEW: Final = ("origin", "period", "opens_on", "due_on", "rule", "rulebook_id", "detail",
              "next_action_on")  # fmt: skip
"""What may differ afterwards; the rest is as replay would leave it."""

_NEW_COLUMNS: Final = tuple(f"new_{name}" for name in NEW)
_SAME: Final = " AND ".join(f"m.{name} = p.{name}" for name in KEY)
_MAP: Final = (
    f"CREATE TEMPORARY TABLE due_map AS SELECT {', '.join(f'p.{name}' for name in KEY)},"  # noqa: S608
    f" {', '.join(f'o.{name} AS new_{name}' for name in NEW)}, 1 AS number"
    f" FROM plain p, {Row._meta.db_table} o WHERE 1 = 0"
)
_INDEXED: Final = (
    "CREATE INDEX temp.due_map_key ON due_map (last_passed_on, stored_due_on, shape_0, rounds)",
    "CREATE UNIQUE INDEX temp.due_map_number ON due_map (number)",
)
_SETTLE: Final = (
    "CREATE TEMPORARY TABLE settled AS SELECT p.obligation, p.subject, m.number"  # noqa: S608
    f" FROM plain p, due_map m WHERE {_SAME}"
)
_CHANGED: Final = " OR ".join(f"o.{name} IS DISTINCT FROM m.new_{name}" for name in NEW)
_WRITE_OBLIGATIONS: Final = (
    f"UPDATE {Row._meta.db_table} AS o SET"  # noqa: S608  (names of our own)
    f" {', '.join(f'{name} = m.new_{name}' for name in NEW)}, updated_at = %s"
    " FROM settled s JOIN due_map m ON m.number = s.number"
    f" WHERE o.id = s.obligation AND o.program_id = %s AND o.closed_on IS NULL AND ({_CHANGED})"
)
_WRITE_STATES: Final = (
    f"UPDATE {AssemblyState._meta.db_table} AS o SET"  # noqa: S608
    " opens_on = m.new_opens_on, due_on = m.new_due_on, replayed_as_of = %s, replayed_at = %s"
    " FROM settled s JOIN due_map m ON m.number = s.number"
    " WHERE o.assembly_id = s.subject AND o.program_id = %s"
    " AND (o.opens_on IS DISTINCT FROM m.new_opens_on OR o.due_on IS DISTINCT FROM m.new_due_on)"
)
_REST: Final = (
    "SELECT id FROM registry_assembly WHERE program_id = %s"
    " EXCEPT SELECT subject FROM settled ORDER BY 1"
)


def make_plain(rows: Any, *, with_rounds: bool) -> None:
    """Keep the rows of a query of plain obligations, with the pattern of their last rounds."""
    command, values = rows.query.sql_with_params()
    if with_rounds:
        told = ", ".join(
            f"q.{name}" for name in ("obligation", "subject", *KEY) if name != "rounds"
        )
        command = (
            f"SELECT {told}, coalesce(r.pattern, 0) AS rounds FROM ({command}) q"  # noqa: S608
            " LEFT JOIN rounds r ON r.subject = q.subject WHERE coalesce(r.is_odd, 0) = 0"
        )
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL work_mem = '64MB'")
        cursor.execute(f"CREATE TEMPORARY TABLE plain AS {command}", values)
        _count(cursor, "plain")


def make_map() -> None:
    """Make an empty table of the groups and what they become, its columns typed like theirs."""
    with connection.cursor() as cursor:
        cursor.execute(_MAP)


def fill_map(rows: Iterable[Sequence[Any]]) -> None:
    """Add groups: the columns of KEY, those of NEW, and a number of its own for each."""
    pour(table="due_map", columns=[*KEY, *_NEW_COLUMNS, "number"], rows=rows)


def settle() -> int:
    """Find which obligation is of which group; return how many are settled."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            for command in _INDEXED:
                cursor.execute(command)
        _count(cursor, "due_map")
        cursor.execute(_SETTLE)
        _count(cursor, "settled")
        cursor.execute("SELECT count(*) FROM settled")
        return int(cursor.fetchone()[0])


def write(*, program_id: int, as_of: date, moment: Any) -> int:
    """Write what differs; return how many obligations that were."""
    with connection.cursor() as cursor:
        cursor.execute(_WRITE_OBLIGATIONS, [moment, program_id])
        written = cursor.rowcount
        cursor.execute(_WRITE_STATES, [as_of, moment, program_id])
    return int(written)


def not_settled(*, program_id: int) -> list[int]:
    """Return the assemblies of a program that no group settles, in order."""
    with connection.cursor() as cursor:
        cursor.execute(_REST, [program_id])
        return [key for (key,) in cursor.fetchall()]


def drop(*, with_rounds: bool) -> None:
    """Drop the temporary tables."""
    with connection.cursor() as cursor:
        for name in ("plain", "due_map", "settled", *(["rounds"] if with_rounds else [])):
            cursor.execute(f"DROP TABLE {name}")


def _count(cursor: Any, table: str) -> None:
    """Let PostgreSQL count a temporary table, which nothing else does."""
    if connection.vendor == "postgresql":
        cursor.execute(f"ANALYZE {table}")
