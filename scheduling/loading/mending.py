"""Rows set aside as the same sheet again, with a column that says why."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from io import StringIO
from typing import Any

from registry.domain.formula_guard import guarded

WHY = "why"


def mending_sheet(
    *, headers: Sequence[str], rows: Iterable[tuple[Sequence[str], Sequence[Mapping[str, Any]]]]
) -> str:
    """CSV of the rows' own cells and their faults' sentences; cells are safe for a spreadsheet."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow([*(guarded(header) for header in headers), WHY])
    for cells, faults in rows:
        why = " ".join(_why(fault) for fault in faults)
        writer.writerow([*(guarded(str(cell)) for cell in cells), guarded(why)])
    return out.getvalue()


def _why(fault: Mapping[str, Any]) -> str:
    column, message = fault.get("column"), str(fault.get("message", ""))
    return f"{column}: {message}" if column else message
