"""How pages write dates, sizes and counts: the month is a word, a blank is a dash."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import template
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString

register = template.Library()

NBSP = "\N{NO-BREAK SPACE}"
DASH = "\N{EM DASH}"
_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August"),
    *("September", "October", "November", "December"),
)
_SHORT = tuple(month[:3] for month in _MONTHS)
_WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
_SPELLED = (
    *("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    *("ten", "eleven", "twelve"),
)
_ISO = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
_TONGUES = {"en": "English", "es": "Spanish"}
_WRITE = re.compile(r"\bwrit(e|ten)\b", re.IGNORECASE)
_FRACTIONS = {
    Decimal("0.125"): "⅛",
    Decimal("0.25"): "¼",
    Decimal("0.375"): "⅜",
    Decimal("0.5"): "½",
    Decimal("0.625"): "⅝",
    Decimal("0.75"): "¾",
    Decimal("0.875"): "⅞",
}


def _as_date(value: object) -> date | None:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, str) and value:
        try:
            return date.fromisoformat(value[:10])
        except ValueError:
            return None
    return None


@register.filter
def day(value: object, today: object = None) -> str:
    """`Sep 4`; with the year when it is not the year of `today`: `Sep 4 2024`."""
    on = _as_date(value)
    if on is None:
        return DASH
    short = f"{_SHORT[on.month - 1]}{NBSP}{on.day}"
    now = _as_date(today)
    return short if now and now.year == on.year else f"{short}{NBSP}{on.year}"


@register.filter
def long_day(value: object) -> str:
    """`September 4, 2025`, for sentences."""
    on = _as_date(value)
    return f"{_MONTHS[on.month - 1]}{NBSP}{on.day}, {on.year}" if on else DASH


@register.filter
def in_prose(value: object) -> str:
    """Words with every ISO date written out: `due 2025-04-10` as `due April 10, 2025`."""
    return _ISO.sub(lambda found: _in_full(found.group(0)), str(value))


def _in_full(written: str) -> str:
    return long_day(written) if _as_date(written) else written


@register.filter
def tongue(value: object) -> str:
    """`Spanish` from `es`; a language nobody here speaks by its code."""
    return _TONGUES.get(str(value), str(value))


@register.filter
def told(value: object) -> str:
    """A message with its dates written out; one that says how to write a date keeps its example."""
    text = str(value)
    return text if _WRITE.search(text) else in_prose(text)


@register.filter
def headed(cells: Iterable[Any], heads: Iterable[Any]) -> list[tuple[Any, Any]]:
    """Each cell of a row with the head of its column: a narrow page says both on one line."""
    return list(zip(heads, cells, strict=False))


@register.filter
def weekday(value: object) -> str:
    """`Thursday`."""
    on = _as_date(value)
    return _WEEKDAYS[on.weekday()] if on else DASH


@register.filter
def clock(value: object) -> str:
    """`8:05 am`; a moment is given in the program's zone before it comes here."""
    if not isinstance(value, datetime):
        return DASH
    hour = value.hour % 12 or 12
    return f"{hour}:{value.minute:02d}{NBSP}{'am' if value.hour < 12 else 'pm'}"


@register.filter
def thousands(value: Any) -> str:
    """`1,904`."""
    return DASH if value is None or value == "" else f"{int(value):,}"


@register.filter
def spelled(value: Any) -> str:
    """`three` up to twelve, figures beyond; for the beginning of a sentence."""
    number = int(value)
    return _SPELLED[number] if 0 <= number < len(_SPELLED) else f"{number:,}"


@register.filter
def inches(value: Any) -> str:
    """`1½ in` from Decimal("1.5"); a size that is no eighth stays a decimal."""
    if value in (None, ""):
        return DASH
    size = Decimal(str(value))
    whole, rest = divmod(size, 1)
    if rest and rest not in _FRACTIONS:
        return f"{size.normalize():f}{NBSP}in"
    return f"{int(whole) if whole or not rest else ''}{_FRACTIONS.get(rest, '')}{NBSP}in"


@register.filter
def hazard(value: object) -> str:
    """`high hazard`, or `not yet assessed`, never `high` for what nobody looked at."""
    return "not yet assessed" if value in ("not assessed", "") else f"{value} hazard"


@register.filter
def minutes(value: Any) -> str:
    """`4 h 30` from 270; `45 min` below the hour."""
    total = int(value or 0)
    hours, rest = divmod(total, 60)
    return f"{hours}{NBSP}h{NBSP}{rest:02d}" if hours else f"{rest}{NBSP}min"


@register.filter
def dash(value: object) -> object:
    """An empty cell is a dash."""
    return DASH if value in (None, "") else value


@register.filter
def channel(value: object) -> str:
    """How a letter travels: `certified mail` from `certified`."""
    return "certified mail" if value == "certified" else str(value)


@register.filter
def words(value: object) -> str:
    """`first overdue` from a key such as `first-overdue`."""
    return str(value).replace("-", " ").replace("_", " ")


@register.filter
def reading_head(name: object) -> str:
    """`Check 2 tight` from `check2_tight`, for the head of a column."""
    return re.sub(r"([a-z])(\d)", r"\1 \2", str(name)).replace("_", " ").capitalize()


@register.filter
def at_key(table: Mapping[Any, Any], key: Any) -> Any:
    """The value of a mapping under a key a template holds in a variable."""
    return table.get(key, "")


@register.simple_tag
def counted(number: int, one: str, many: str = "") -> SafeString:
    """`1 letter`, `1,904 letters`, with a space that does not break."""
    noun = one if number == 1 else (many or f"{one}s")
    return format_html("{}{}{}", f"{number:,}", NBSP, conditional_escape(noun))
