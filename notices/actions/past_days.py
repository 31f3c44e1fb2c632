"""What was owed on the day a past letter left: by an extension or a cure since, another thing."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date

from registry.models import Program
from scheduling.domain.obligations import Obligation
from scheduling.domain.replay import replay
from scheduling.models import Obligation as Row
from scheduling.queries.obligations import key_of
from scheduling.queries.rulebooks import books_of
from scheduling.queries.subjects import Subject, subjects

CHUNK = 500


class PastDays:
    """The obligations of some assemblies on any past day, as now known, read once."""

    def __init__(self, *, program: Program, assembly_ids: Collection[int]) -> None:
        books = books_of(program)
        ids = sorted(assembly_ids)
        self._subjects: dict[int, Subject] = {}
        self._days: dict[tuple[int, date], Sequence[Obligation]] = {}
        for start in range(0, len(ids), CHUNK):
            some = ids[start : start + CHUNK]
            for one in subjects(program=program, assembly_ids=some, rulebooks=books.dated):
                self._subjects[one.assembly_id] = one

    def rows_on(
        self, day: date, *, assembly_id: int, rows: Sequence[Row]
    ) -> list[tuple[Obligation, Row]]:
        """Return what was owed or coming that day, oldest first, each with its stored row."""
        stored = {key_of(row): row for row in rows}
        return [
            (one, stored[one.key])
            for one in self._on(day, assembly_id=assembly_id)
            if one.key in stored
        ]

    def _on(self, day: date, *, assembly_id: int) -> Sequence[Obligation]:
        known = self._days.get((assembly_id, day))
        if known is None:
            subject = self._subjects[assembly_id]
            ledger = replay(timeline=subject.timeline, facts=subject.facts, left={}, as_of=day)
            known = sorted(
                (*ledger.obligations, *ledger.coming), key=lambda one: (one.opens_on, one.due_on)
            )
            self._days[(assembly_id, day)] = known
        return known
