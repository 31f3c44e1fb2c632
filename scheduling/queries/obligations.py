"""Stored obligations as the plain values that ladders read."""

from __future__ import annotations

from datetime import date

from scheduling.domain.obligations import ClosedHow, Obligation, ObligationKey
from scheduling.domain.pauses import Pause
from scheduling.models import Obligation as ObligationRow


def as_domain(row: ObligationRow) -> Obligation:
    """Return a stored obligation as a value.

    It is open once a day's run recorded its opening and until it closed. An idle
    assembly's is suspended.
    """
    return Obligation(
        key=key_of(row),
        opens_on=row.opens_on,
        due_on=row.due_on,
        is_open=row.opened_on is not None and row.closed_on is None,
        rule=row.rule,
        citation=row.detail.get("citation", ""),
        rulebook="",
        cure_by=row.cure_by,
        failed_on=row.failed_on,
        prompts=tuple(date.fromisoformat(day) for day in row.prompts),
        is_suspended=bool(row.detail.get("is_suspended")),
        courtesy_is_over=bool(row.detail.get("courtesy_is_over")),
        pauses=tuple(_pause(since, ends) for since, ends in row.detail.get("pauses", ())),
        target_on=row.target_on,
        closed_on=row.closed_on,
        closed_how=ClosedHow(row.closed_how) if row.closed_how else None,
    )


def _pause(since: str, ends: str | None) -> Pause:
    return Pause(date.fromisoformat(since), None if ends is None else date.fromisoformat(ends))


def key_of(row: ObligationRow) -> ObligationKey:
    """Return what identifies a stored obligation through every recalculation."""
    return ObligationKey.from_texts(kind=row.kind, origin=row.origin, period=row.period)
