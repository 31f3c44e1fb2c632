"""People erased: what the ledger holds of them, and what is told in place of a difference."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from registry.models import Erasure, Program


class Erased:
    """The erasures of a program: letters without their bytes, entries without their salt."""

    def __init__(self, program: Program) -> None:
        self._program = program

    @cached_property
    def _rows(self) -> list[Erasure]:
        return list(Erasure.objects.filter(program=self._program).order_by("at", "pk"))

    @property
    def letters(self) -> set[int]:
        """Letters whose bytes were taken away; their hash stays in the ledger."""
        return {pk for row in self._rows for pk in row.letters}

    @property
    def entries(self) -> set[int]:
        """Numbers of entries whose salt was taken away."""
        return {number for row in self._rows for number in row.entries}

    def told(self) -> Iterator[str]:
        """Yield each erasure: what, when, by whom, why. No difference."""
        for row in self._rows:
            yield (
                f"{row.what.capitalize()} {row.subject_id} was erased on {row.at:%Y-%m-%d} by "
                f"{row.by}: {row.reason} (letters without their bytes: {len(row.letters):,}; "
                f"entries without their salt: {len(row.entries):,})"
            )
