"""What persons did with a paper run after it was made, as its page tells it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from notices.models import PaperRun
from registry.models import Change


@dataclass(frozen=True, slots=True, kw_only=True)
class RunChange:
    """One act: said to be mailed, taken back, printed again (`41 to 57`), or numbers kept."""

    at: datetime
    by: str
    reason: str
    mailed_on: date | None
    taken_back: date | None
    too_late: int
    printed_again: str
    numbers: int


def run_changes(run: PaperRun) -> list[RunChange]:
    """Return the acts, the newest first."""
    rows = Change.objects.filter(what="paper run", subject_id=run.pk, program=run.program)
    return [
        RunChange(
            at=row.at,
            by=row.by,
            reason=row.reason,
            mailed_on=_day(row.after.get("mailed_on")),
            taken_back=_day(row.before.get("mailed_on")),
            too_late=int(row.after.get("too_late", 0)),
            printed_again=str(row.after.get("printed_again", "")),
            numbers=int(row.after.get("certified_numbers", 0)),
        )
        for row in rows
    ]


def _day(text: object) -> date | None:
    return date.fromisoformat(text) if isinstance(text, str) and text else None
