"""What a database reads for a statement: rows and buffers by EXPLAIN, and the indexes it uses."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db import connection

SCANS = frozenset({"Seq Scan", "Index Scan", "Index Only Scan", "Bitmap Heap Scan"})


@dataclass(frozen=True, slots=True)
class Read:
    """Rows that scans gave or threw away, and buffers of 8 kB that were touched."""

    rows: int
    buffers: int

    def __add__(self, other: Read) -> Read:
        return Read(self.rows + other.rows, self.buffers + other.buffers)


def statement_of(rows: Any) -> tuple[str, tuple[Any, ...]]:
    """Return the SQL of a queryset with its values."""
    command, values = rows.query.sql_with_params()
    return command, values


def read_by(command: str, values: tuple[Any, ...]) -> Read:
    """Run a statement under EXPLAIN (ANALYZE, BUFFERS) on PostgreSQL."""
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN (ANALYZE, BUFFERS, FORMAT JSON) {command}", values)
        (told,) = cursor.fetchone()
    plan = (json.loads(told) if isinstance(told, str) else told)[0]["Plan"]
    rows = sum(_rows(node) for node in nodes(plan) if node["Node Type"] in SCANS)
    return Read(rows, plan["Shared Hit Blocks"] + plan["Shared Read Blocks"])


def _rows(node: dict[str, Any]) -> int:
    one = node["Actual Rows"] + node.get("Rows Removed by Filter", 0)
    return int(one * node["Actual Loops"])


def nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield a plan and every part of it."""
    yield plan
    for part in plan.get("Plans", ()):
        yield from nodes(part)


def scans_of(command: str, values: tuple[Any, ...]) -> list[str]:
    """Return how a statement reads its tables, a line for each: index and table, or the whole."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"EXPLAIN (FORMAT JSON) {command}", values)
            (told,) = cursor.fetchone()
            plan = (json.loads(told) if isinstance(told, str) else told)[0]["Plan"]
            return [
                f"{node['Node Type']} {node.get('Relation Name', '')} {node.get('Index Name', '')}"
                for node in nodes(plan)
                if "Scan" in node["Node Type"]
            ]
        cursor.execute(f"EXPLAIN QUERY PLAN {command}", values)
        return [row[3] for row in cursor.fetchall()]
