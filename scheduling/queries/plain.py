"""Groups of assemblies of which the last pass alone says what is owed, told by stored words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db import connection

from registry.models import Program
from scheduling.domain.likeness import Likeness
from scheduling.models import Obligation

KEY: Final = (
    "likeness",
    "rounds",
    "has_opened",
    "target_on",
    "is_aimed",
    "origin",
    "period",
    "opens_on",
    "due_on",
    "rule",
    "rulebook_id",
)
"""The columns by which groups are told apart."""

_TABLE: Final = Obligation._meta.db_table
_OPENED: Final = {
    "has_opened": "(o.opened_on IS NOT NULL)",
    "target_on": "CASE WHEN o.opened_on IS NOT NULL THEN o.target_on END",
    "is_aimed": "(o.target_on IS NOT NULL)",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain:
    """What assemblies of one group have in common: their likeness and their stored dates.

    `rounds`: a bit for each of the last rounds, the newest the lowest, set where it had failed;
    0 where nobody counts them. `target_on`: of what is open, the day it was levelled to;
    `is_aimed`: whether it was, open or coming. `number`: how many they are. `key` holds the
    columns of KEY as the database gave them.
    """

    likeness: Likeness
    has_opened: bool
    target_on: date | None
    is_aimed: bool
    origin: str
    period: str
    opens_on: date
    due_on: date
    rule: str
    rulebook_id: int
    rounds: int
    number: int
    key: tuple[Any, ...]

    @property
    def anchor(self) -> date:
        """The day its cycle counts from."""
        return date.fromisoformat(self.origin.partition(":")[2])

    @classmethod
    def of(cls, row: Sequence[Any]) -> Plain:
        """Return the group of a row of the columns of KEY, and how many there are."""
        *key, number = row
        values = dict(zip(KEY, key, strict=True))
        return cls(
            **{
                **values,
                "likeness": Likeness.of(values["likeness"]),
                **{name: bool(values[name]) for name in ("has_opened", "is_aimed")},
                **{name: _day(values[name]) for name in ("target_on", "opens_on", "due_on")},
            },
            number=number,
            key=tuple(key),
        )


def _day(value: date | str | None) -> date | None:
    return date.fromisoformat(value) if isinstance(value, str) else value


def key_in_sql(*, last_rounds: int) -> dict[str, str]:
    """Return what tells obligations (`o`) apart, a column or an expression of theirs for each."""
    counted = f"(o.rounds & {(1 << last_rounds) - 1})" if last_rounds else "0"
    return {name: f"o.{name}" for name in KEY} | {"rounds": counted, **_OPENED}


def plain_in_sql(*, last_rounds: int) -> str:
    """Return which obligations (`o`) are of plain assemblies, its one parameter their program."""
    told = " AND o.rounds IS NOT NULL" if last_rounds else ""
    return f"o.program_id = %s AND o.closed_on IS NULL AND o.likeness <> ''{told}"


def plain_groups(*, program: Program, last_rounds: int) -> Iterator[Plain]:
    """Yield the groups of a program; no history is read for it.

    `last_rounds`: of how many of the last rounds a rule counts the failures; 0: none does.
    """
    columns = ", ".join(key_in_sql(last_rounds=last_rounds).values())
    places = ", ".join(str(place) for place in range(1, len(KEY) + 1))
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT {columns}, count(*) FROM {_TABLE} o"  # noqa: S608
            f" WHERE {plain_in_sql(last_rounds=last_rounds)} GROUP BY {places}",
            [program.pk],
        )
        yield from map(Plain.of, cursor.fetchall())
