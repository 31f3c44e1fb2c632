"""The text form of acceptance limits: a TOML file per method, every figure with its source."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from reports.domain.limits import Criterion, Family, Limits, Mark, Rule, Steps
from reports.domain.readings import ReadingName, Unit

E = TypeVar("E", bound=StrEnum)


class LimitsError(ValueError):
    """A limits file that cannot be used: which field, and what it should hold."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(f"{field}: {message}")
        self.field = field
        self.message = message


def read_limits(text: str) -> Limits:
    """The limits a TOML text holds, its figures as decimals. Raises LimitsError."""
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise LimitsError(field="file", message=f"no TOML: {error}") from error
    rows = data.get("criteria")
    if not isinstance(rows, list) or not rows:
        raise LimitsError(field="criteria", message="a method needs at least one criterion")
    effective_on = data.get("effective_on")
    if not isinstance(effective_on, date):
        raise LimitsError(field="effective_on", message="write a date, as 2012-01-01")
    criteria = tuple(_criterion(row) for row in rows)
    return Limits(
        name=_words(data, "name"),
        title=_words(data, "title"),
        unit=_choice(Unit, data, "unit"),
        effective_on=effective_on,
        effective_note=_words(data, "effective_note"),
        caution=_words(data, "caution"),
        criteria=criteria,
        steps=_steps(data.get("steps", []), criteria=criteria),
        absent=_absent(data.get("absent", []), criteria=criteria),
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )


def _criterion(row: Mapping[str, object]) -> Criterion:
    rule = _choice(Rule, row, "rule")
    other = _choice(ReadingName, row, "other") if "other" in row else None
    limit = row.get("limit")
    if isinstance(limit, int) and not isinstance(limit, bool):
        limit = Decimal(limit)
    if limit is not None and not (isinstance(limit, Decimal) and limit.is_finite()):
        raise LimitsError(field="limit", message="write a figure, as 2.0")
    if (rule in {Rule.AT_LEAST, Rule.DIFFERENCE_AT_LEAST}) != (limit is not None):
        raise LimitsError(field="limit", message=f'a rule "{rule}" and its limit do not agree')
    if (rule in {Rule.ABOVE_OTHER, Rule.DIFFERENCE_AT_LEAST}) != (other is not None):
        raise LimitsError(field="other", message=f'a rule "{rule}" and its readings do not agree')
    required = row.get("required")
    if not isinstance(required, bool):
        raise LimitsError(field="required", message="write true or false")
    return Criterion(
        family=_choice(Family, row, "family"),
        name=_words(row, "name"),
        rule=rule,
        reading=_choice(ReadingName, row, "reading"),
        other=other,
        limit=limit,
        required=required,
        citation=_words(row, "citation"),
        mark=_choice(Mark, row, "mark"),
    )


def _steps(rows: object, *, criteria: tuple[Criterion, ...]) -> tuple[Steps, ...]:
    found = [_step(row) for row in (rows if isinstance(rows, list) else [])]
    for one in found:
        order = list(_order(one.family, criteria=criteria))
        if [name for name in order if name in one.readings] != list(one.readings):
            told = ", ".join(order) or "none"
            message = f"the criteria of {one.family} stand in another order: {told}"
            raise LimitsError(field="steps", message=message)
    return tuple(found)


def _step(row: Mapping[str, object]) -> Steps:
    names = row.get("readings")
    return Steps(
        family=_choice(Family, row, "family"),
        readings=tuple(
            _choice(ReadingName, {"readings": name}, "readings")
            for name in (names if isinstance(names, list) else [])
        ),
        citation=_words(row, "citation"),
        mark=_choice(Mark, row, "mark"),
    )


def _order(family: Family, *, criteria: tuple[Criterion, ...]) -> Iterator[ReadingName]:
    """Each reading of a body once, as the criteria come to it."""
    named = [
        name
        for one in criteria
        if one.family is family
        for name in (one.reading, one.other)
        if name is not None
    ]
    yield from dict.fromkeys(named)


def _absent(rows: object, *, criteria: tuple[Criterion, ...]) -> dict[Family, str]:
    found = {
        _choice(Family, row, "family"): _words(row, "why")
        for row in (rows if isinstance(rows, list) else [])
    }
    judged = {one.family for one in criteria if one.rule is not Rule.RECORDED}
    for family in judged & set(found):
        raise LimitsError(field="absent", message=f"{family} is judged, so it is not absent")
    return found


def _words(row: Mapping[str, object], field: str) -> str:
    value = row.get(field)
    if not isinstance(value, str) or not value.strip():
        raise LimitsError(field=field, message="write at least one word")
    return value.strip()


def _choice(kind: type[E], row: Mapping[str, object], field: str) -> E:
    value = row.get(field)
    try:
        return kind(str(value))
    except ValueError as error:
        known = ", ".join(kind)
        raise LimitsError(field=field, message=f"{value!r} is none of: {known}") from error
