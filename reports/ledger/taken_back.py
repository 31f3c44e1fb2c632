"""Field tests taken back with their file: kept apart, and held to the ledger from there."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from functools import cached_property
from typing import Any

from registry.models import Program
from reports.models import FieldTest, LedgerEntry, TakenBackReport

KIND = "field test"


class TakenBack:
    """The reports of a program that were taken back, read once where one is asked for."""

    def __init__(self, program: Program) -> None:
        self._program = program

    @cached_property
    def _kept(self) -> dict[int, TakenBackReport]:
        rows = TakenBackReport.objects.filter(
            taken_back__batch__program=self._program
        ).select_related("taken_back")
        return {int(one.row["id"]): one for one in rows}

    def row_of(self, entry: LedgerEntry) -> FieldTest | None:
        """Return the field test as it stood when it was taken back, or None."""
        kept = self._kept.get(entry.subject) if entry.kind == KIND else None
        return _as_it_stood(kept.row, entry=entry) if kept is not None else None

    def told(self) -> Iterator[str]:
        """Yield each entry whose test was taken back: when, by whom, why. No difference."""
        rows = LedgerEntry.objects.filter(program=self._program, kind=KIND)
        for subject in rows.filter(subject__in=self._kept).values_list("subject", flat=True):
            one = self._kept[subject]
            if FieldTest.objects.filter(pk=subject).exists():
                continue
            yield (
                f"Field test {subject} ({one.serial}, {one.tested_on}) was taken back on "
                f"{one.taken_back.at:%Y-%m-%d} by {one.taken_back.by or 'nobody named'}: "
                f"{one.taken_back.reason}"
            )


def _as_it_stood(row: dict[str, Any], *, entry: LedgerEntry) -> FieldTest:
    fields = {field.attname: field for field in FieldTest._meta.concrete_fields}
    test = FieldTest(
        **{name: fields[name].to_python(value) for name, value in row.items() if name in fields}
    )
    # What is kept of a moment are its thousandths; the entry has the rest of it.
    whole = datetime.fromisoformat(str(entry.body.get("recorded_at")))
    if whole.replace(microsecond=whole.microsecond // 1000 * 1000) == test.recorded_at:
        test.recorded_at = whole
    return test
