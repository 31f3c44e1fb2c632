"""How the last rounds of assemblies that ever failed ended, told by the database alone.

A round ends with a pass, and had failed where a failure stands before it since the pass
before, or where the pass itself was found failing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from django.db import connection

from registry.models import Program
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

MOST: Final = 30
"""Rounds that fit into a number."""

_TESTS: Final = (FactKind.PASSED.value, FactKind.FAILED.value)
_PLAIN: Final = (*_TESTS, FactKind.INSTALLED.value, FactKind.REPAIRED.value,
                 FactKind.ASSESSED.value)  # fmt: skip


def make_rounds(*, program: Program, last: int) -> None:
    """Make the temporary table `rounds` (subject, pattern, is_odd) of what ever failed.

    `pattern`: a bit for each of the `last` rounds, the newest the lowest, set where it had
    failed. `is_odd`: 1 where more happened than tests and repairs, two tests on one day, or a
    test before the installation; then the history itself must be read.
    """
    with connection.cursor() as cursor:
        values = [*_told_values(program), last]
        cursor.execute(f"CREATE TEMPORARY TABLE rounds AS {_ROUNDS[connection.vendor]}", values)
        place = "" if connection.vendor == "postgresql" else "temp."
        cursor.execute(f"CREATE UNIQUE INDEX {place}rounds_subject ON rounds (subject)")
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE rounds")


def rounds_in(pattern: int, *, last: int) -> tuple[bool, ...]:
    """Return whether each of the last rounds had failed, oldest first.

    Example: pattern 0b101 of the last 3: failed, passed, failed.
    """
    return tuple(bool(pattern >> place & 1) for place in reversed(range(last)))


def _told_values(program: Program) -> Sequence[Any]:
    return [program.pk, program.pk]


def _sql(*, found_failed: str, has_other_work: str, has_key: str) -> str:
    table = Fact._meta.db_table
    tests, plain = _listed(_TESTS), _listed(_PLAIN)
    failed = f"kind = '{FactKind.FAILED.value}'"
    passed = f"kind = '{FactKind.PASSED.value}'"
    ever = f"{failed} OR kind = '{FactKind.UNTESTABLE.value}' OR ({passed} AND {has_key})"
    return f"""
WITH mine AS (
  SELECT assembly_id, kind, "on", id,
    CASE WHEN {failed} OR ({passed} AND {found_failed}) THEN 1 ELSE 0 END AS failed,
    CASE WHEN kind IN ({plain}) AND NOT {has_other_work} THEN 0 ELSE 1 END AS odd
  FROM {table} f
  WHERE program_id = %s AND withdrawn_at IS NULL AND assembly_id IN (
    SELECT assembly_id FROM {table} WHERE program_id = %s AND withdrawn_at IS NULL AND ({ever}))
), odds AS (
  SELECT assembly_id, CASE WHEN max(odd) = 1
    OR count(CASE WHEN kind IN ({tests}) THEN 1 END)
      <> count(DISTINCT CASE WHEN kind IN ({tests}) THEN "on" END)
    OR min(CASE WHEN kind IN ({tests}) THEN "on" END)
      < max(CASE WHEN kind = '{FactKind.INSTALLED.value}' THEN "on" END)
    THEN 1 ELSE 0 END AS is_odd
  FROM mine GROUP BY assembly_id
), told AS (
  SELECT assembly_id, failed, CASE WHEN {passed} THEN 1 ELSE 0 END AS is_pass,
    sum(CASE WHEN {passed} THEN 1 ELSE 0 END) OVER (PARTITION BY assembly_id
      ORDER BY "on" DESC, id DESC ROWS UNBOUNDED PRECEDING) AS back
  FROM mine WHERE kind IN ({tests})
), ended AS (
  SELECT assembly_id, CAST(back AS integer) AS back, max(failed) AS has_failed
  FROM told WHERE back BETWEEN 1 AND %s GROUP BY assembly_id, back
)
SELECT o.assembly_id AS subject, max(o.is_odd) AS is_odd,
  CAST(coalesce(sum(e.has_failed * (1 << (e.back - 1))), 0) AS integer) AS pattern
FROM odds o LEFT JOIN ended e ON e.assembly_id = o.assembly_id GROUP BY o.assembly_id"""  # noqa: S608


def _listed(words: Sequence[str]) -> str:
    return ", ".join(f"'{word}'" for word in words)


_ROUNDS: Final = {
    "postgresql": _sql(
        found_failed="detail @> '{\"found_failed\": true}'",
        has_other_work="jsonb_exists(detail, 'work')",
        has_key="jsonb_exists(detail, 'found_failed')",
    ),
    "sqlite": _sql(
        found_failed="coalesce(json_extract(detail, '$.found_failed'), 0) = 1",
        has_other_work="json_type(detail, '$.work') IS NOT NULL",
        has_key="json_type(detail, '$.found_failed') IS NOT NULL",
    ),
}
"""The statement in the words of each database."""
