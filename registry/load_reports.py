"""What a load has to say: its tally, each fault and warning, and what every column was read as."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from registry.domain.cells import Fault

SHOWN_ROWS = 6


@dataclass(frozen=True, kw_only=True)
class LoadReport:
    """`rows` = created + updated + unchanged + distinct rows set aside."""

    rows: int
    created: int
    updated: int
    unchanged: int
    rejected: Sequence[Fault]
    warnings: Sequence[Fault]
    columns: Mapping[str, str | None]
    assigned: int | None = None
    """Premises given to a testing company; None where no column speaks of it."""

    @property
    def set_aside(self) -> int:
        """How many rows did not land."""
        return len({fault.row for fault in self.rejected})

    def tally(self) -> dict[str, int]:
        """The counts alone."""
        return {
            "rows": self.rows,
            "created": self.created,
            "updated": self.updated,
            "unchanged": self.unchanged,
            "set_aside": self.set_aside,
            "warnings": len(self.warnings),
            **self._assigned(),
        }

    def as_json(self) -> dict[str, Any]:
        """The object the commands print."""
        return {
            "rows": self.rows,
            "created": self.created,
            "updated": self.updated,
            "unchanged": self.unchanged,
            "rejected": [fault.as_json() for fault in self.rejected],
            "warnings": [warning.as_json() for warning in self.warnings],
            "columns": dict(self.columns),
            **self._assigned(),
        }

    def _assigned(self) -> dict[str, int]:
        return {} if self.assigned is None else {"assigned": self.assigned}

    def lines(self) -> list[str]:
        """The report for people: counts, columns left unread, equal causes together."""
        counted = [f"{count:>8,}  {name.replace('_', ' ')}" for name, count in self.tally().items()]
        unread = [header for header, field in self.columns.items() if field is None]
        return [
            *counted,
            *([f"Columns not read: {', '.join(unread)}."] if unread else []),
            *_grouped("Set aside", self.rejected),
            *_grouped("Warnings", self.warnings),
        ]


def _grouped(title: str, faults: Sequence[Fault]) -> list[str]:
    """Equal causes of one column as one line, with the first rows they are in."""
    if not faults:
        return []

    def cause(fault: Fault) -> tuple[str, str]:
        return fault.column or "", fault.message

    lines = [f"{title}:"]
    for (column, message), members in groupby(sorted(faults, key=cause), key=cause):
        rows = [fault.row for fault in members]
        more = f" and {len(rows) - SHOWN_ROWS} more" if len(rows) > SHOWN_ROWS else ""
        where = ", ".join(str(row) for row in rows[:SHOWN_ROWS]) + more
        lines.append(f"  {column or 'whole row'}: {message} (row {where})")
    return lines
