"""The statements that write what groups of assemblies become, through one temporary table.

`due_map` holds a row for each group: what tells it apart, and what its obligations say after the
change, or that its histories must be read. Call them in this order, in one transaction.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, Final

from django.db import connection

from registry.pouring import pour
from scheduling.models import AssemblyState
from scheduling.models import Obligation as Row
from scheduling.queries.plain import KEY, key_in_sql, plain_in_sql

NEW: Final = ("origin", "period", "opens_on", "due_on", "rule", "rulebook_id", "detail",
              "next_action_on")  # fmt: skip
"""What may differ afterwards; the rest is as replay would leave it."""

_ROWS: Final = Row._meta.db_table
_NEW_COLUMNS: Final = tuple(f"new_{name}" for name in NEW)
_CHANGED: Final = " OR ".join(f"o.{name} IS DISTINCT FROM m.new_{name}" for name in NEW)
_WRITE_STATES: Final = (
    f"UPDATE {AssemblyState._meta.db_table} AS s SET"  # noqa: S608  (names of our own)
    " opens_on = o.opens_on, due_on = o.due_on, replayed_as_of = %s, replayed_at = %s"
    f" FROM {_ROWS} o WHERE s.assembly_id = o.assembly_id AND o.program_id = %s"
    " AND o.closed_on IS NULL AND o.likeness <> ''"
    " AND (s.opens_on IS DISTINCT FROM o.opens_on OR s.due_on IS DISTINCT FROM o.due_on)"
)


def make_map(*, last_rounds: int) -> None:
    """Make an empty table of the groups and what they become, its columns typed like theirs."""
    key = ", ".join(f"{sql} AS {name}" for name, sql in key_in_sql(last_rounds=last_rounds).items())
    new = ", ".join(f"o.{name} AS new_{name}" for name in NEW)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL work_mem = '64MB'")
        cursor.execute(
            f"CREATE TEMPORARY TABLE due_map AS SELECT {key}, {new}, 1 AS is_settled"  # noqa: S608
            f" FROM {_ROWS} o WHERE 1 = 0"
        )


def fill_map(rows: Iterable[Sequence[Any]]) -> None:
    """Add groups: the columns of KEY, those of NEW, and 1 where it is settled, else 0."""
    pour(table="due_map", columns=[*KEY, *_NEW_COLUMNS, "is_settled"], rows=rows)


def not_settled(*, program_id: int, last_rounds: int, has_refused: bool) -> list[int]:
    """Return the assemblies of a program that no group settles, in order; ask before writing.

    `has_refused`: whether any group of the map is not settled.
    """
    plain = plain_in_sql(last_rounds=last_rounds)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE due_map")
        else:
            cursor.execute("CREATE INDEX temp.due_map_key ON due_map (likeness, due_on)")
        cursor.execute(
            "SELECT id FROM registry_assembly WHERE program_id = %s EXCEPT"  # noqa: S608
            f" SELECT o.assembly_id FROM {_ROWS} o WHERE {plain}",
            [program_id, program_id],
        )
        found = [key for (key,) in cursor.fetchall()]
        if has_refused:
            cursor.execute(
                f"SELECT o.assembly_id FROM {_ROWS} o JOIN due_map m"  # noqa: S608
                f" ON {_same(last_rounds)} WHERE {plain} AND m.is_settled = 0",
                [program_id],
            )
            found += [key for (key,) in cursor.fetchall()]
    return sorted(found)


def write(*, program_id: int, last_rounds: int, as_of: date, moment: Any) -> int:
    """Write what differs; return how many obligations that were."""
    command = (
        f"UPDATE {_ROWS} AS o SET"  # noqa: S608
        f" {', '.join(f'{name} = m.new_{name}' for name in NEW)}, updated_at = %s FROM due_map m"
        f" WHERE {plain_in_sql(last_rounds=last_rounds)} AND {_same(last_rounds)}"
        f" AND m.is_settled = 1 AND ({_CHANGED})"
    )
    with connection.cursor() as cursor:
        cursor.execute(command, [moment, program_id])
        written = cursor.rowcount
        cursor.execute(_WRITE_STATES, [as_of, moment, program_id])
        cursor.execute("DROP TABLE due_map")
    return int(written)


def _same(last_rounds: int) -> str:
    """Return when an obligation (`o`) is of a group (`m`)."""
    key = key_in_sql(last_rounds=last_rounds)
    may_lack = f"m.target_on IS NOT DISTINCT FROM {key.pop('target_on')}"
    return " AND ".join([*(f"m.{name} = {sql}" for name, sql in key.items()), may_lack])
