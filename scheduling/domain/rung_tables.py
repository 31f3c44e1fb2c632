"""Reads a rung of a ladder from its table."""

from __future__ import annotations

from typing import Any

from scheduling.domain.rule_tables import match, source
from scheduling.domain.rulebook_table import Table
from scheduling.domain.rungs import Recipient, Rung, Trigger


def rung(table: Table) -> Rung:
    """Read a rung of the ladder."""
    found: dict[str, Any] = {
        name: table.flag(name)
        for name in (
            "is_working",
            "is_skippable",
            "is_required",
            "needs_release",
            "is_order",
            "without_day",
            "from_delivery",
        )
    }
    return table.done(
        Rung(
            **found,
            key=table.text("key"),
            trigger=table.one_of("trigger", Trigger),
            offset_days=table.number("offset_days", 0),
            after=table.text("after") if table.has("after") else None,
            gap_days=table.days("gap_days", 0),
            presumed_days=table.days("presumed_days", 0),
            latest_left_days=table.number_or_none("latest_left_days"),
            repeat=table.cycle_or_none("repeat"),
            letter=table.words_or_empty("letter"),
            languages=table.words("languages"),
            channel=table.text("channel", "mail"),
            also_by=table.words("also_by"),
            recipients=table.each_of("recipients", Recipient),
            kinds=table.words("kinds"),
            match=match(table),
            citation=table.text("citation"),
            source=source(table),
        )
    )
