"""What the form asks beyond the readings, and what follows from the answers."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from reports.domain.entry_items import SHUTOFF1

_LEAST = Decimal(1)
_CHECKS = ("check1", "check", "bypass_check1")


def entry_warnings(fields: Mapping[str, str]) -> list[str]:
    """Doubts that change no outcome.

    A leaking shutoff valve 1 spoils a low reading of the check behind it (USC Foundation "Cross
    Talk", 2001, for a DC; a PVB likewise, from memory).
    """
    found = []
    if fields.get(SHUTOFF1) == "no":
        low = [name for name in _CHECKS if _is_low(fields.get(f"initial_{name}", ""))]
        if low:
            found.append(
                "shutoff valve 1 leaks beside a low reading of a check: repair the valve first,"
                " then test again (USC Foundation “Cross Talk”, 2001)"
            )
        else:
            found.append("shutoff valve 1 leaks: it is to be repaired")
    if fields.get("supply_on") == "no":
        found.append("the report says that the water is not back on")
    if fields.get("proper") == "no":
        found.append("the report says that it is not properly installed: see its cells")
    return found


def _is_low(text: str) -> bool:
    try:
        return Decimal(text.replace(",", ".")) < _LEAST
    except InvalidOperation:
        return False
