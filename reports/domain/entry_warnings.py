"""What the form asks beyond the readings, and what follows from the answers."""

from __future__ import annotations

from collections.abc import Mapping


def entry_warnings(fields: Mapping[str, str]) -> list[str]:
    """Doubts that change no outcome."""
    found = []
    if fields.get("supply_on") == "no":
        found.append("the report says that the water is not back on")
    if fields.get("proper") == "no":
        found.append("the report says that it is not properly installed: see its cells")
    return found
