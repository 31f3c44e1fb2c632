"""What an assembly was and is, each from a day on: its findings of hazard, its dated changes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from registry.domain.kinds import Hazard
from scheduling.domain.matching import Attributes
from scheduling.domain.timeline import AttributesFrom

COLUMNS: Final = {
    "type": "type",
    "protects": "protects",
    "service": "connection__kind",
    "has_chemicals": "connection__has_chemicals",
    "runs_part_year": "connection__runs_part_year",
    "use": "premises__use",
}
"""What a dated change keeps, and the column that holds it now; older ones keep no use."""

ShapeOf = Callable[[Mapping[str, Any], Hazard], Attributes]


@dataclass(frozen=True, slots=True)
class Finding:
    """A dated finding of the degree of hazard."""

    on: date
    hazard: Hazard
    recorded_at: datetime


def dated_attributes(
    *, row: Mapping[str, Any], findings: Sequence[Finding], shape_of: ShapeOf
) -> tuple[AttributesFrom, ...]:
    """Return what a row's assembly is from each day on; the first holds from the start.

    `findings` are in order of their days. Example: a DC until 1 June 2025, an RP since: two
    entries, the second from 1 June, recorded when somebody wrote it down.
    """
    was = [_Change.of(entry) for entry in row["was"] or ()]
    if not was and not findings:
        return (AttributesFrom(on=date.min, attributes=shape_of(row, Hazard(row["hazard"]))),)
    if not was:
        return tuple(
            AttributesFrom(
                on=each.on, attributes=shape_of(row, each.hazard), recorded_at=each.recorded_at
            )
            for each in findings
        )
    starts: dict[date, datetime | None] = {date.min: None}
    for on, at in [(one.until, one.recorded_at) for one in was] + [
        (each.on, each.recorded_at) for each in findings[1:]
    ]:
        before = starts.get(on)
        starts[on] = at if before is None else max(at, before)
    return tuple(
        AttributesFrom(
            on=on,
            attributes=shape_of(_as_it_was(row, was=was, on=on), _hazard(row, findings, on=on)),
            recorded_at=at,
        )
        for on, at in sorted(starts.items())
    )


@dataclass(frozen=True, slots=True)
class _Change:
    """What an assembly was until a day, the day itself not counted."""

    until: date
    recorded_at: datetime
    shape: Mapping[str, Any]

    @classmethod
    def of(cls, entry: Mapping[str, Any]) -> _Change:
        return cls(
            until=date.fromisoformat(entry["until"]),
            recorded_at=datetime.fromisoformat(entry["recorded_at"]),
            shape={column: entry[name] for name, column in COLUMNS.items() if name in entry},
        )


def _as_it_was(row: Mapping[str, Any], *, was: Sequence[_Change], on: date) -> Mapping[str, Any]:
    later = [one.shape for one in was if on < one.until]
    found = dict(row)
    for shape in reversed(later):
        found |= shape
    return found


def _hazard(row: Mapping[str, Any], findings: Sequence[Finding], *, on: date) -> Hazard:
    if not findings:
        return Hazard(row["hazard"])
    begun = [each for each in findings if each.on <= on]
    return (begun[-1] if begun else findings[0]).hazard
