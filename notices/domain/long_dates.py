"""Dates as letters write them: in full, the month a word, in the reader's language."""

from __future__ import annotations

from datetime import date

NO_BREAK = "\u00a0"

_EN = "January February March April May June July August September October November December"
_ES = "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre"
_MONTHS = {language: tuple(names.split()) for language, names in (("en", _EN), ("es", _ES))}


def long_date(day: date, *, language: str = "en") -> str:
    """Return `November 17, 2025`, or `17 de noviembre de 2025`; month and day never part.

    A language without month names here is written as English is.
    """
    if language == "es":
        month = _MONTHS["es"][day.month - 1]
        return f"{day.day}{NO_BREAK}de{NO_BREAK}{month} de{NO_BREAK}{day.year}"
    return f"{_MONTHS['en'][day.month - 1]}{NO_BREAK}{day.day}, {day.year}"
