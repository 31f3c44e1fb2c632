"""One table of a rulebook's TOML, read strictly: every key asked for once, none left over."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Any, TypeVar

from scheduling.domain.cycles import Cycle, CycleError, parse_cycle

E = TypeVar("E", bound=StrEnum)
T = TypeVar("T")

MOST_DAYS = 3660
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2200, 12, 31)


class RulebookError(ValueError):
    """A rulebook that cannot be read; the message names the rule and the mend."""


class Table:
    """One table of the file; every key must be asked for before it is closed."""

    def __init__(self, *, where: str, cells: dict[str, Any]) -> None:
        self.where = where
        self._cells = dict(cells)

    # Each reader takes its key out of the table, and raises RulebookError by rule and mend.

    def error(self, message: str) -> RulebookError:
        """Return the error of this table, named."""
        return RulebookError(f"{self.where}: {message}")

    def text(self, key: str, default: str | None = None) -> str:
        """Read words; none, or blank ones, are a fault."""
        value = self._cells.pop(key, default)
        if not isinstance(value, str) or not value.strip():
            raise self.error(f'{key} is missing: write {key} = "…".')
        return value

    def number(self, key: str, default: int | None = None) -> int:
        """Read a whole number."""
        value = self._cells.pop(key, default)
        if not isinstance(value, int) or isinstance(value, bool) or abs(value) > MOST_DAYS:
            raise self.error(f"{key} must be a whole number up to {MOST_DAYS}.")
        return value

    def days(self, key: str, default: int | None = None) -> int:
        """Read a whole number of 0 or more."""
        value = self.number(key, default)
        if value < 0:
            raise self.error(f"{key} = {value} runs backwards: write 0 or more.")
        return value

    def number_or_none(self, key: str) -> int | None:
        """Read a whole number where there is one."""
        return self.number(key) if self.has(key) else None

    def flag_or_none(self, key: str) -> bool | None:
        """Read true or false where either is said."""
        return self.flag(key) if self.has(key) else None

    def words_or_empty(self, key: str) -> str:
        """Read words where there are any."""
        return self.text(key) if self.has(key) else ""

    def day(self, key: str) -> date:
        """Read a day as TOML writes it, without quotes: transcribed = 2026-11-25."""
        value = self._cells.pop(key, None)
        if not isinstance(value, date) or isinstance(value, datetime):
            raise self.error(f"{key} must be a day: write {key} = 2026-11-25, without quotes.")
        if not FIRST_DAY <= value <= LAST_DAY:
            raise self.error(f"{key} = {value} lies outside 1900 to 2200: correct the year.")
        return value

    def day_or_none(self, key: str) -> date | None:
        """Read a day where there is one."""
        return self.day(key) if self.has(key) else None

    def share(self, key: str) -> Decimal:
        """Read a share of the whole, written as text: share = "0.90"."""
        word = self.text(key)
        try:
            value = Decimal(word)
        except InvalidOperation:
            value = Decimal(-1)
        if not (value.is_finite() and 0 < value <= 1):
            raise self.error(f'{key} = {word!r} is no share of the whole: write {key} = "0.90".')
        return value

    def flag(self, key: str) -> bool:
        """Read true or false; left out: false."""
        value = self._cells.pop(key, False)
        if not isinstance(value, bool):
            raise self.error(f"{key} must be true or false.")
        return value

    def words(self, key: str) -> tuple[str, ...]:
        """Read a list of words; left out: none."""
        value = self._cells.pop(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.error(f"{key} must be a list of words.")
        return tuple(value)

    def one_of(self, key: str, choices: type[E], default: E | None = None) -> E:
        """Read one word of a closed list."""
        return self._choice(self.text(key, default), key=key, choices=choices)

    def some_of(self, key: str, choices: type[E]) -> frozenset[E]:
        """Read a set of words of a closed list."""
        return frozenset(self._choice(w, key=key, choices=choices) for w in self.words(key))

    def each_of(self, key: str, choices: type[E]) -> tuple[E, ...]:
        """Read words of a closed list, in their order."""
        return tuple(self._choice(w, key=key, choices=choices) for w in self.words(key))

    def _choice(self, word: str, *, key: str, choices: type[E]) -> E:
        try:
            return choices(word)
        except ValueError:
            known = ", ".join(choice.value for choice in choices if choice.value)
            raise self.error(f"{key} = {word!r} is not known: use one of {known}.") from None

    def cycle_or_none(self, key: str) -> Cycle | None:
        """Read a recurrence where there is one."""
        return self.cycle(key) if self.has(key) else None

    def cycle(self, key: str) -> Cycle:
        """Read a recurrence of the whitelist."""
        try:
            return parse_cycle(self.text(key))
        except CycleError as error:
            raise self.error(f"{key}: {error}") from error

    def has(self, key: str) -> bool:
        """Return whether the table still holds a key."""
        return key in self._cells

    def table(self, key: str) -> Table:
        """Read a table inside."""
        value = self._cells.pop(key, None)
        if not isinstance(value, dict):
            raise self.error(f"the table [{key}] is missing: add it with its citation.")
        return Table(where=f"{self.where} [{key}]", cells=value)

    def tables(self, key: str, *, named_by: str) -> list[Table]:
        """Read a list of tables, each named by one of its cells."""
        value = self._cells.pop(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.error(f"{key} must be a list of tables: write [[{key}]].")
        return [
            Table(where=f"[[{key}]] {item.get(named_by, number)}", cells=item)
            for number, item in enumerate(value, start=1)
        ]

    def done(self, result: T) -> T:
        """Return what was read, if no key is left over."""
        if self._cells:
            extra = ", ".join(sorted(self._cells))
            raise self.error(f"{extra} is not known here: take it out, or mend its spelling.")
        return result


def all_of(tables: Iterable[Table], read: Callable[[Table], T]) -> tuple[T, ...]:
    """Read every table of a list."""
    return tuple(read(table) for table in tables)
