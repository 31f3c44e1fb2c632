"""What offices write for a date, read in the program's order; nothing ambiguous is guessed."""

import datetime
import re
from datetime import date, timedelta

from registry.domain.cells import UnreadableCellError, clean, is_none
from registry.domain.kinds import DateOrder

DAY_ZERO = date(1899, 12, 30)
"""Day numbers of spreadsheets count from here (25569 is 1 January 1970)."""
FIRST_DAY_NUMBER, LAST_DAY_NUMBER = 18264, 73050
"""1 January 1950 and 31 December 2099; other figures are no plausible day."""
EARLIEST_YEAR, LATEST_YEAR = 1900, 2199
YEARS_AHEAD = 20

_MONTH_NAMES = (
    "january february march april may june july august september october november december"
)
_MONTHS = {
    name[:length]: number
    for number, name in enumerate(_MONTH_NAMES.split(), start=1)
    for length in range(3, len(name) + 1)
}  # fmt: skip
_TIME = (
    r"(?:[t ,]+[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?"
    r"\s*(?:[ap]\.?m\.?)?\s*(?:z|utc|[+-][0-9]{2}:?[0-9]{2})?)?"
)
_YEAR = r"'?([0-9]{4}|[0-9]{2})"
_WEEKDAY = r"(?:(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?\.?,?\s+)?"
_YEAR_FIRST = re.compile(rf"([0-9]{{4}})([-/.])([0-9]{{1,2}})\2([0-9]{{1,2}}){_TIME}")
_COMPACT = re.compile(rf"((?:19|20)[0-9]{{2}})([0-9]{{2}})([0-9]{{2}}){_TIME}")
_FIGURES = re.compile(rf"{_WEEKDAY}([0-9]{{1,2}})\s*([-/.])\s*([0-9]{{1,2}})\s*\2\s*{_YEAR}{_TIME}")
_DAY_NAME = re.compile(
    rf"{_WEEKDAY}([0-9]{{1,2}})(?:st|nd|rd|th)?[-/. ,]*([a-z]{{3,9}})[-/. ,]*{_YEAR}{_TIME}"
)
_NAME_DAY = re.compile(
    rf"{_WEEKDAY}([a-z]{{3,9}})[-/. ,]*([0-9]{{1,2}})(?:st|nd|rd|th)?(?:[-/. ]+|,\s*)"
    rf"{_YEAR}{_TIME}"
)
_DAY_NUMBER = re.compile(r"([0-9]{5})(?:\.[0-9]+)?")
_HOW = "write it as 2025-03-14"


def read_date(raw: str, *, order: DateOrder, as_of: date) -> date | None:
    """The day a cell names, or None where it says that there is none (blank, n/a, unknown).

    ISO, figures in the program's order, two-digit years, 14-Mar-25, March 14, 2025, spreadsheet
    day numbers; a time of day is read over. A two-digit year is the one that lies between 79
    years before `as_of` and 20 after: in 2026, 27 is 2027 and 47 is 1947. Figures that are no
    day in the program's order are not tried in the other one. Raises UnreadableCellError.
    """
    if is_none(raw):
        return None
    text = clean(raw).casefold()
    parts = _parts(text=text, order=order)
    if parts is None:
        return _from_day_number(text=text, raw=raw)
    year, month, day = parts
    try:
        found = date(_full_year(year=year, as_of=as_of), month, day)
    except ValueError as error:
        raise UnreadableCellError(_no_such_day(raw=raw, parts=parts, order=order)) from error
    if not EARLIEST_YEAR <= found.year <= LATEST_YEAR:
        raise UnreadableCellError(
            f"{clean(raw)!r} is in the year {found.year}; correct the year and {_HOW}."
        )
    return found


def read_past_date(raw: str, *, order: DateOrder, as_of: date) -> date | None:
    """The same for something that has happened: a day after `as_of` raises as well."""
    found = read_date(raw, order=order, as_of=as_of)
    if found and found > as_of:
        raise UnreadableCellError(
            f"{found.isoformat()} lies after {as_of.isoformat()}; correct the date, "
            "or leave it empty if it has not happened yet."
        )
    return found


def _parts(*, text: str, order: DateOrder) -> tuple[str, int, int] | None:
    """Year as written, month and day, before anything is checked against the calendar."""
    if match := _YEAR_FIRST.fullmatch(text):
        return match[1], int(match[3]), int(match[4])
    if match := _COMPACT.fullmatch(text):
        return match[1], int(match[2]), int(match[3])
    if match := _FIGURES.fullmatch(text):
        first, second = int(match[1]), int(match[3])
        month, day = (first, second) if order == DateOrder.MONTH_FIRST else (second, first)
        return match[4], month, day
    if (match := _DAY_NAME.fullmatch(text)) and match[2] in _MONTHS:
        return match[3], _MONTHS[match[2]], int(match[1])
    if (match := _NAME_DAY.fullmatch(text)) and match[1] in _MONTHS:
        return match[3], _MONTHS[match[1]], int(match[2])
    return None


def _full_year(*, year: str, as_of: date) -> int:
    if len(year) == 4:
        return int(year)
    latest = as_of.year + YEARS_AHEAD
    return latest - (latest - int(year)) % 100


def _from_day_number(*, text: str, raw: str) -> date:
    match = _DAY_NUMBER.fullmatch(text)
    if match and FIRST_DAY_NUMBER <= int(match[1]) <= LAST_DAY_NUMBER:
        return DAY_ZERO + timedelta(days=int(match[1]))
    if re.fullmatch(r"(19|20)[0-9]{2}", text):
        raise UnreadableCellError(f"{clean(raw)} is only a year; {_HOW}.")
    raise UnreadableCellError(f"{clean(raw)!r} is no date; {_HOW}, or leave it empty.")


def _no_such_day(*, raw: str, parts: tuple[str, int, int], order: DateOrder) -> str:
    _, month, day = parts
    if month > 12 >= day and _FIGURES.fullmatch(clean(raw).casefold()):
        told = f"{clean(raw)!r} has no month {month}: dates here are read {order.value}. "
        return f"{told}{_HOW.capitalize()}."
    return f"{clean(raw)!r} is no day of the calendar; {_HOW}."


def time_of_day(raw: str) -> datetime.time | None:
    """The time a cell names (`14:05`, `2:05 PM`), or None."""
    match = re.search(
        r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?\s*([ap])?\.?m?\.?\s*$", clean(raw).casefold()
    )
    if not match:
        return None
    hour, half = int(match[1]), match[4]
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    try:
        return datetime.time(hour, int(match[2]), int(match[3] or 0))
    except ValueError:
        return None
