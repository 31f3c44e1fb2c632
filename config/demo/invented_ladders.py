"""What the demo's administrator invented where a place's ladder is not transcribed: days, rungs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

Cells = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Invented:
    """Days for rungs that have none, and rungs put behind them, each with what it is."""

    days: dict[str, Cells] = field(default_factory=dict)
    more: Sequence[tuple[Cells, str]] = ()


def dated(ladder: Invented, *, key: str) -> Cells:
    """Return the cells that give a rung its day; without any it goes the day after the due date."""
    return ladder.days.get(key, {"offset_days": 1})


def added(ladder: Invented) -> Sequence[tuple[Cells, str]]:
    """Return the rungs put behind those of the place, with what each is."""
    return ladder.more


def _final(after: str, *, gap: int) -> tuple[Cells, str]:
    cells = {
        "key": "final",
        "trigger": "due",
        "offset_days": 1,
        "after": after,
        "gap_days": gap,
        "is_required": True,
        "channel": "certified",
    }
    return cells, f"a final notice {gap} days after it"


def _order(after: str, *, gap: int) -> tuple[Cells, str]:
    cells = {
        "key": "shutoff-order",
        "trigger": "due",
        "offset_days": 1,
        "after": after,
        "gap_days": gap,
        "needs_release": True,
        "is_order": True,
    }
    return cells, f"an order {gap} days after it; only a person signs it"


_FIRST: tuple[Cells, str] = (
    {"key": "first-overdue", "trigger": "due", "offset_days": 1},
    "a first notice the day after the due date",
)

LADDERS: dict[str, Invented] = {
    "": Invented(more=(_FIRST, _final("first-overdue", gap=14), _order("final", gap=14))),
    "oro-valley-az": Invented(
        days={"overdue": {"offset_days": 1}},
        more=(_final("overdue", gap=14), _order("final", gap=14)),
    ),
    "kansas-city-mo": Invented(
        days={"due-letter": {"offset_days": -30}, "reminder": {"offset_days": 1}}
    ),
    "cross-valley-wa": Invented(
        days={"warning": {"offset_days": 1}, "final": {"offset_days": 1, "gap_days": 14}},
        more=(_order("final", gap=14),),
    ),
    "copper-mountain-co": Invented(days={"final": {"offset_days": 1}}),
    "boulder-co": Invented(
        days={"final": {"offset_days": 1, "gap_days": 10}},  # ten days from a tag hung late, too
        more=(_order("final", gap=14),),
    ),
    "lincoln-county-nc": Invented(more=(_final("overdue", gap=14), _order("final", gap=14))),
    "carthage-nc": Invented(more=(_final("overdue", gap=14), _order("final", gap=14))),
    "cave-creek-az": Invented(
        days={"final": {"offset_days": 1, "gap_days": 30}},
        more=(_order("final", gap=14),),
    ),
}
"""By the name of the rulebook; `""` for one without any rung."""
