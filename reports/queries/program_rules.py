"""Which rulebook a program goes by on a day, and so which method judges a test of that day."""

from __future__ import annotations

from datetime import date

from registry.models import Program
from reports.domain.limits import Limits
from reports.queries.methods import limits_in
from scheduling.domain.rulebook import Rulebook
from scheduling.queries.rulebooks import books_of


class ProgramRules:
    """The rulebooks of one program by the day from which they hold, asked for once.

    Raises NoRulebookError where the program has none.
    """

    def __init__(self, program: Program) -> None:
        self._program = program
        self._dated = books_of(program).dated
        self._limits: dict[str, Limits] = {}

    def on(self, day: date) -> Rulebook:
        """The rulebook in force on a day; the first holds from the start."""
        begun = [entry.rulebook for entry in self._dated if entry.on <= day]
        return begun[-1] if begun else self._dated[0].rulebook

    def limits_on(self, day: date, *, method: str | None) -> Limits:
        """The limits that judge a test of that day: of the method named, else the rulebook's.

        Raises UnknownMethodError.
        """
        name = method or self.on(day).method
        if name not in self._limits:
            self._limits[name] = limits_in(self._program, name=name)
        return self._limits[name]
