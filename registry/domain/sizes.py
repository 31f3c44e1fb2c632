"""What offices write for the size of an assembly, read as nominal inches."""

import re
from decimal import Decimal

from registry.domain.cells import Reading, UnreadableCellError, clean, is_none

SMALLEST_IN = Decimal("0.125")
LARGEST_IN = Decimal(24)

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_INCH_MARKS = ("\u2033", "\u201d", "\u201c", "\u201e", "''", "\u2019\u2019", "\u2032\u2032")
_PLAIN_SIGNS = {0x2044: "/", 0x2010: "-", 0x2011: "-", 0x2013: "-"}
_HALVINGS = {"2": 2, "4": 4, "8": 8, "16": 16}

# Nominal pipe size for a nominal diameter in millimetres (ISO 6708 with ASME B36.10M).
INCHES_OF_DN = {
    6: "0.125", 8: "0.25", 10: "0.375", 15: "0.5", 20: "0.75", 25: "1", 32: "1.25", 40: "1.5",
    50: "2", 65: "2.5", 80: "3", 90: "3.5", 100: "4", 125: "5", 150: "6", 200: "8", 250: "10",
    300: "12", 350: "14", 400: "16", 450: "18", 500: "20", 600: "24",
}  # fmt: skip

_UNIT = r"(?:\"|''|'|inches|inch|ins|in)?\.?"
_WHOLE_OR_DECIMAL = re.compile(rf"(?P<number>[0-9]{{0,3}}(?:\.[0-9]+)?|[0-9]+\.)\s*-?\s*{_UNIT}")
_FRACTION = re.compile(
    r"(?:(?P<whole>[0-9]{1,2})\s*(?:\"|in\.?)?\s*(?:-|&|\+|and|\.|\s)\s*)?"
    rf"(?P<over>[0-9]{{1,2}})\s*/\s*(?P<under>[0-9]{{1,2}})\s*-?\s*{_UNIT}"
)
_METRIC = re.compile(r"(?:dn\s*(?P<dn>[0-9]{1,4})|(?P<mm>[0-9]{1,4})(?:\.0+)?\s*-?\s*mm\.?)")
_TURNED_DATE = re.compile(
    r"([0-9]{1,2}[-/ ][a-z]{3,9}(?:[-/ ][0-9]{2,4})?|[a-z]{3,9}[-/ ][0-9]{1,4}"
    r"|[0-9]{4}-[0-9]{2}-[0-9]{2}.*)"
)
_HOW = "write inches, as 3/4, 1 1/2 or 2"


def read_size(raw: str) -> Reading[Decimal]:
    """The nominal size in inches: `3/4"`, `.75`, `1 1/2`, `1-1/2`, `1½`, `1.5 in`, `50mm`.

    A number without a unit is inches; millimetres must say so and be a nominal diameter. A
    size that is no eighth of an inch lands with a warning. Raises UnreadableCellError for what
    is missing, no number, or no size of an assembly (0, -2, 3/0, 75).
    """
    if is_none(raw):
        raise UnreadableCellError(f"The size is missing; {_HOW}.")
    text = _plain(raw)
    size = _metric(text) or _fraction(text) or _decimal(text)
    if size is None:
        raise UnreadableCellError(_why_unreadable(text=text, raw=raw))
    if not SMALLEST_IN <= size <= LARGEST_IN:
        raise UnreadableCellError(
            f"{clean(raw)} is no size of an assembly in inches; {_HOW}"
            + (f", or {clean(raw)} mm if it is millimetres." if size > LARGEST_IN else ".")
        )
    if size % SMALLEST_IN:
        return Reading(size, f"{size} in is no nominal size; check it on the assembly.")
    return Reading(size)


def size_text(size_in: Decimal) -> str:
    """A size as it is stored and exported, without idle zeros: 0.75, 1.5, 2."""
    plain = format(size_in.normalize(), "f")
    return plain if plain != "-0" else "0"


def _plain(raw: str) -> str:
    text = clean(raw).casefold()
    for sign, written in _VULGAR.items():
        text = text.replace(sign, f" {written}")
    for marks in _INCH_MARKS:
        text = text.replace(marks, '"')
    return text.translate(_PLAIN_SIGNS).strip()


def _metric(text: str) -> Decimal | None:
    match = _METRIC.fullmatch(text)
    if not match:
        return None
    inches = INCHES_OF_DN.get(int(match["dn"] or match["mm"]))
    return Decimal(inches) if inches else None


def _fraction(text: str) -> Decimal | None:
    match = _FRACTION.fullmatch(text)
    if not match or match["under"] not in _HALVINGS:
        return None
    part = Decimal(match["over"]) / _HALVINGS[match["under"]]
    if part >= 1:  # 11/2 is more often 1 1/2 with its blank lost than 5 1/2
        return None
    return Decimal(match["whole"] or 0) + part


def _decimal(text: str) -> Decimal | None:
    with_point = re.sub(r"(?<=[0-9]),(?=[0-9]{1,3}\b)", ".", text, count=1)
    match = _WHOLE_OR_DECIMAL.fullmatch(with_point)
    if not match or not match["number"].strip("."):
        return None
    return Decimal(match["number"]).quantize(Decimal("0.001")).normalize()


def _why_unreadable(*, text: str, raw: str) -> str:
    if _TURNED_DATE.fullmatch(text):
        return (
            f"{clean(raw)!r} is a size that a spreadsheet turned into a date; "
            f"format the column as text and {_HOW}."
        )
    return f"{clean(raw)!r} is no size; {_HOW}."
