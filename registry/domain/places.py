"""States, ZIP codes and coordinates as offices write them, mended where the mend is plain."""

import re
from dataclasses import dataclass
from decimal import Decimal

from registry.domain.cells import Reading, clean, is_none
from registry.domain.zip_prefixes import STATE_NAMES, STATES_OF_PREFIX

_SIX = Decimal("0.000001")
_NUMBER = re.compile(r"[+-]?[0-9]{1,4}(?:\.[0-9]+)?")
_DEGREES = re.compile(
    r"([NSEW])?\s*([+-]?[0-9]{1,4}(?:\.[0-9]+)?)\s*(?:°|d|deg)?\s*"
    r"(?:([0-9]{1,2}(?:\.[0-9]+)?)\s*['\u2032\u2019]\s*(?:([0-9]{1,2}(?:\.[0-9]+)?)\s*(?:\"|\u2033|\u201d|''))?)?"
    r"\s*([NSEW])?",
    re.IGNORECASE,
)


@dataclass(frozen=True, kw_only=True)
class Position:
    """Degrees, six places; both or neither."""

    lat: Decimal | None = None
    lon: Decimal | None = None


def read_state(raw: str) -> str:
    """The postal abbreviation where the state is known ("Washington" is WA), else as written."""
    text = clean(raw)
    if is_none(text):
        return ""
    word = re.sub(r"[^A-Z ]", "", text.upper()).strip()
    if word.replace(" ", "") in STATE_NAMES:
        return word.replace(" ", "")
    by_name = {name.upper(): code for code, name in STATE_NAMES.items()}
    return by_name.get(word, text)


def read_zip(raw: str, *, state: str) -> Reading[str]:
    """A ZIP code with its lost zeros restored: 1234 is 01234, 601 is 00601.

    A code whose first three figures are not given out in `state` (a postal abbreviation; blank
    or foreign: not checked) is kept with a warning, and so is what is no ZIP code.
    """
    text = re.sub(r"\.0+$", "", clean(raw))
    if is_none(text):
        return Reading("")
    if re.fullmatch(r"[A-Za-z][0-9][A-Za-z] ?[0-9][A-Za-z][0-9]", text):
        return Reading(f"{text[:3]} {text[-3:]}".upper())
    match = re.fullmatch(r"([0-9]{3,5})(?:\s*-\s*([0-9]{4})?)?|([0-9]{4,5})([0-9]{4})", text)
    if not match:
        return Reading(
            text[:20], f"{text!r} is no ZIP code; it is kept as written. Write five figures."
        )
    first = (match[1] or match[3]).zfill(5)
    extension = match[2] or match[4]
    code = f"{first}-{extension}" if extension else first
    wrong = state in STATE_NAMES and state not in STATES_OF_PREFIX.get(first[:3], frozenset())
    if not wrong:
        return Reading(code)
    return Reading(code, f"The ZIP code {code} is not one of {state}; check it on the next bill.")


def read_position(*, lat: str, lon: str, state: str = "") -> Reading[Position]:
    """Decimal degrees (or degrees, minutes, seconds) as a position with six places.

    Plainly swapped ones are put right: the first beyond 90 degrees, or, in one of the United
    States, only plausible the other way round. Impossible ones, words, and one without the
    other are left empty. Each says so.
    """
    if is_none(lat) and is_none(lon):
        return Reading(Position())
    first, second = _degrees(lat), _degrees(lon)
    said = f"{clean(lat) or 'nothing'}, {clean(lon) or 'nothing'}"
    if first is None or second is None:
        return Reading(
            Position(),
            f"The coordinates {said} are no numbers in degrees and are left empty; "
            "write both, as 46.848386 and -118.237300.",
        )
    if _is_swapped(lat=first, lon=second, state=state):
        return Reading(
            _position(lat=second, lon=first),
            f"The coordinates {said} were swapped and are put right; exchange them in the sheet.",
        )
    if abs(first) > 90 or abs(second) > 180 or first == second == 0:
        return Reading(
            Position(), f"The coordinates {said} are impossible and are left empty; correct them."
        )
    return Reading(_position(lat=first, lon=second))


def _position(*, lat: Decimal, lon: Decimal) -> Position:
    return Position(lat=lat.quantize(_SIX), lon=lon.quantize(_SIX))


def _is_swapped(*, lat: Decimal, lon: Decimal, state: str) -> bool:
    if abs(lat) > 90:
        return abs(lat) <= 180 and abs(lon) <= 90
    if state not in STATE_NAMES:
        return False
    return not _in_the_states(lat=lat, lon=lon) and _in_the_states(lat=lon, lon=lat)


def _in_the_states(*, lat: Decimal, lon: Decimal) -> bool:
    """A wide frame around the fifty states, Puerto Rico and the islands (from memory)."""
    return -15 <= lat <= 72 and (-180 <= lon <= -64 or 140 <= lon <= 180)


def _degrees(raw: str) -> Decimal | None:
    text = clean(raw)
    if re.fullmatch(r"[+-]?[0-9]{1,3},[0-9]+", text):
        text = text.replace(",", ".")
    if _NUMBER.fullmatch(text):
        return Decimal(text)
    match = _DEGREES.fullmatch(text)
    if not match or not (match[1] or match[5] or match[3]):
        return None
    degrees = abs(Decimal(match[2])) + Decimal(match[3] or 0) / 60 + Decimal(match[4] or 0) / 3600
    south_or_west = (match[1] or match[5] or "").upper() in {"S", "W"} or match[2].startswith("-")
    return -degrees if south_or_west else degrees
