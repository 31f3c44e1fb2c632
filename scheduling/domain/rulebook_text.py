"""A rulebook as TOML, read strictly: a slip is told by rule and mend, never guessed over."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from enum import StrEnum
from typing import Any, TypeVar

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.cycles import Cycle, CycleError, parse_cycle
from scheduling.domain.facts import EVENTS, FactKind
from scheduling.domain.ladders import Ladder, Rung, Trigger
from scheduling.domain.rulebook import (
    TEST,
    Credentials,
    CycleRule,
    DaysRule,
    EventRule,
    ExemptRule,
    Match,
    MonthDay,
    Regime,
    Rulebook,
    WorkKind,
)
from scheduling.domain.rulebook_checks import faults_of

E = TypeVar("E", bound=StrEnum)
T = TypeVar("T")

MOST_DAYS = 3660


class RulebookError(ValueError):
    """A rulebook that cannot be read; the message names the rule and the mend."""


def read_rulebook(text: str) -> Rulebook:
    """Return the rulebook written in TOML; raise RulebookError for what cannot be meant.

    Unknown keys, recurrences outside the whitelist, rules without a citation, ladders
    that run backwards and subjects without a rule are refused.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RulebookError(f"This is no TOML: {error}.") from error
    rulebook = _rulebook(_Table(where="rulebook", cells=raw))
    faults = faults_of(rulebook)
    if faults:
        raise RulebookError(" ".join(faults))
    return rulebook


class _Table:
    """One table of the file; every key must be asked for before it is closed."""

    def __init__(self, *, where: str, cells: dict[str, Any]) -> None:
        self.where = where
        self._cells = dict(cells)

    def error(self, message: str) -> RulebookError:
        return RulebookError(f"{self.where}: {message}")

    def text(self, key: str, default: str | None = None) -> str:
        value = self._cells.pop(key, default)
        if not isinstance(value, str) or not value.strip():
            raise self.error(f'{key} is missing: write {key} = "…".')
        return value

    def number(self, key: str, default: int | None = None) -> int:
        value = self._cells.pop(key, default)
        if not isinstance(value, int) or isinstance(value, bool) or abs(value) > MOST_DAYS:
            raise self.error(f"{key} must be a whole number up to {MOST_DAYS}.")
        return value

    def days(self, key: str, default: int | None = None) -> int:
        value = self.number(key, default)
        if value < 0:
            raise self.error(f"{key} = {value} runs backwards: write 0 or more.")
        return value

    def flag(self, key: str) -> bool:
        value = self._cells.pop(key, False)
        if not isinstance(value, bool):
            raise self.error(f"{key} must be true or false.")
        return value

    def words(self, key: str) -> tuple[str, ...]:
        value = self._cells.pop(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.error(f"{key} must be a list of words.")
        return tuple(value)

    def one_of(self, key: str, choices: type[E], default: E | None = None) -> E:
        return self._choice(self.text(key, default), key=key, choices=choices)

    def some_of(self, key: str, choices: type[E]) -> frozenset[E]:
        return frozenset(self._choice(w, key=key, choices=choices) for w in self.words(key))

    def _choice(self, word: str, *, key: str, choices: type[E]) -> E:
        try:
            return choices(word)
        except ValueError:
            known = ", ".join(choice.value for choice in choices if choice.value)
            raise self.error(f"{key} = {word!r} is not known: use one of {known}.") from None

    def cycle(self, key: str) -> Cycle:
        try:
            return parse_cycle(self.text(key))
        except CycleError as error:
            raise self.error(f"{key}: {error}") from error

    def has(self, key: str) -> bool:
        return key in self._cells

    def table(self, key: str) -> _Table:
        value = self._cells.pop(key, None)
        if not isinstance(value, dict):
            raise self.error(f"the table [{key}] is missing: add it with its citation.")
        return _Table(where=f"{self.where} [{key}]", cells=value)

    def tables(self, key: str, *, named_by: str) -> list[_Table]:
        value = self._cells.pop(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.error(f"{key} must be a list of tables: write [[{key}]].")
        return [
            _Table(where=f"[[{key}]] {item.get(named_by, number)}", cells=item)
            for number, item in enumerate(value, start=1)
        ]

    def done(self, result: T) -> T:
        if self._cells:
            extra = ", ".join(sorted(self._cells))
            raise self.error(f"{extra} is not known here: take it out, or mend its spelling.")
        return result


def _rulebook(table: _Table) -> Rulebook:
    method = table.table("method")
    return table.done(
        Rulebook(
            name=table.text("name"),
            title=table.text("title"),
            method=method.text("name"),
            method_citation=method.done(method.text("citation")),
            kinds=_all(table.tables("kind", named_by="name"), _kind),
            cycles=_all(table.tables("cycle", named_by="id"), _cycle_rule),
            events=_all(table.tables("event", named_by="id"), _event_rule),
            exempt=_all(table.tables("exempt", named_by="id"), _exempt_rule),
            cures=_all(table.tables("cure", named_by="id"), _days_rule),
            grace=_days_rule(table.table("grace")),
            no_date=_days_rule(table.table("no_date")),
            transition=_days_rule(table.table("transition")),
            ladder=Ladder(_all(table.tables("rung", named_by="key"), _rung)),
            credentials=_credentials(table.table("credentials")),
            gaps=table.words("gaps"),
        )
    )


def _all(tables: Iterable[_Table], read: Callable[[_Table], T]) -> tuple[T, ...]:
    return tuple(read(table) for table in tables)


def _match(table: _Table) -> Match:
    return Match(
        types=table.some_of("types", AssemblyType),
        hazards=table.some_of("hazards", Hazard),
        services=table.some_of("services", ServiceKind),
        protects=table.some_of("protects", Protects),
    )


def _kind(table: _Table) -> WorkKind:
    return table.done(WorkKind(name=table.text("name"), met_by=table.words("met_by")))


def _cycle_rule(table: _Table) -> CycleRule:
    regime = table.one_of("regime", Regime)
    is_season = regime is Regime.SEASON
    return table.done(
        CycleRule(
            id=table.text("id"),
            kind=table.text("kind", TEST),
            regime=regime,
            cycle=table.cycle("every"),
            match=_match(table),
            opens_days=0 if is_season else table.days("opens_days"),
            early_days=table.days("early_days") if regime is Regime.ANNIVERSARY else 0,
            cap=table.cycle("cap") if table.has("cap") else None,
            season_opens=_month_day(table, "season_opens") if is_season else None,
            credit_from=_month_day(table, "credit_from") if is_season else None,
            citation=table.text("citation"),
        )
    )


def _month_day(table: _Table, key: str) -> MonthDay:
    word = table.text(key)
    month, dash, day = word.partition("-")
    if not (dash and month.isdecimal() and day.isdecimal()):
        raise table.error(f'{key} = {word!r} is no day of a year: write it as "03-01".')
    if not (1 <= int(month) <= 12 and 1 <= int(day) <= 31):
        raise table.error(f'{key} = {word!r} is no day of a year: write it as "03-01".')
    return MonthDay(int(month), int(day))


def _event_rule(table: _Table) -> EventRule:
    event = table.one_of("event", FactKind)
    if event not in EVENTS:
        known = ", ".join(sorted(EVENTS))
        raise table.error(f"event = {event.value!r} asks for no test: use one of {known}.")
    return table.done(
        EventRule(
            id=table.text("id"),
            event=event,
            kind=table.text("kind", TEST),
            days=table.days("days"),
            match=_match(table),
            citation=table.text("citation"),
        )
    )


def _exempt_rule(table: _Table) -> ExemptRule:
    return table.done(
        ExemptRule(
            id=table.text("id"),
            kind=table.text("kind", TEST),
            match=_match(table),
            citation=table.text("citation"),
        )
    )


def _days_rule(table: _Table) -> DaysRule:
    return table.done(
        DaysRule(
            id=table.text("id"),
            days=table.days("days"),
            match=_match(table),
            citation=table.text("citation"),
        )
    )


def _credentials(table: _Table) -> Credentials:
    return table.done(
        Credentials(gauge_months=table.days("gauge_months"), citation=table.text("citation"))
    )


def _rung(table: _Table) -> Rung:
    return table.done(
        Rung(
            key=table.text("key"),
            trigger=table.one_of("trigger", Trigger),
            offset_days=table.number("offset_days", 0),
            after=table.text("after") if table.has("after") else None,
            gap_days=table.days("gap_days", 0),
            is_skippable=table.flag("is_skippable"),
            needs_release=table.flag("needs_release"),
            is_order=table.flag("is_order"),
            channel=table.text("channel", "mail"),
            citation=table.text("citation"),
        )
    )
