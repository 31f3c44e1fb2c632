"""What went on a fact while it stood: the letters that left between its recording and its end."""

from __future__ import annotations

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from reports.queries.one_assembly import LetterRow
from scheduling.models import Fact


def letters_while_it_stood(
    facts: Sequence[Fact], *, letters: Sequence[LetterRow], zone: ZoneInfo
) -> dict[int, list[LetterRow]]:
    """By withdrawn fact, the letters that left while it stood: they went on what was then known."""
    found: dict[int, list[LetterRow]] = {}
    for fact in facts:
        if fact.withdrawn_at is None:
            continue
        first = fact.recorded_at.astimezone(zone).date()
        last = fact.withdrawn_at.astimezone(zone).date()
        stood = [row for row in letters if not row.is_prepared and first <= row.on <= last]
        if stood:
            found[fact.pk] = stood
    return found
