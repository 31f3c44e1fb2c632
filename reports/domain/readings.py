"""What a gauge can say: a figure, one of a few words, or nothing; and how a cell says it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from types import MappingProxyType


class Word(StrEnum):
    """Results that are no figures, in the words of a test report."""

    DID_NOT_OPEN = "did not open"
    LEAKED = "leaked"
    CLOSED_TIGHT = "closed tight"
    YES = "yes"
    NO = "no"
    NO_FLOW = "no flow"


Reading = Decimal | Word | None
"""A recorded result; ``None`` is *not recorded*, which is neither good nor bad."""


class ReadingName(StrEnum):
    """The readings of a field test, named as the columns of the judging sheet."""

    RELIEF = "relief"
    CHECK1 = "check1"
    CHECK2 = "check2"
    CHECK1_TIGHT = "check1_tight"
    CHECK2_TIGHT = "check2_tight"
    AIR_INLET = "air_inlet"
    AIR_INLET_FULL = "air_inlet_full"
    CHECK = "check"
    SHUTOFF2_TIGHT = "shutoff2_tight"
    BYPASS_RELIEF = "bypass_relief"
    BYPASS_CHECK1 = "bypass_check1"
    BYPASS_CHECK2 = "bypass_check2"
    BYPASS_CHECK2_TIGHT = "bypass_check2_tight"
    METER_MOVED = "meter_moved"
    SHUTOFF1_TIGHT = "shutoff1_tight"


class Unit(StrEnum):
    """Units a gauge shows; psid and psi are the same figure with two names."""

    PSID = "psid"
    PSI = "psi"
    KPA = "kPa"


@dataclass(frozen=True, kw_only=True)
class ReadCell:
    """A cell as understood, with a warning where it was read with a doubt."""

    reading: Reading
    warning: str = ""


class CellError(ValueError):
    """A cell that cannot be read: which column, what it holds, and what to write instead."""

    def __init__(self, *, column: str, value: str, message: str) -> None:
        super().__init__(f"{column}: {value!r}: {message}")
        self.column = column
        self.value = value
        self.message = message


MOST = Decimal(200)
"""The largest figure that is taken for a gauge reading, in any unit."""

NOT_REACHED = "not reached"
"""What a report says of a step that the method never came to."""

LONGEST_CELL = 40
"""No gauge shows more characters; what is longer is no reading."""

_FIGURE = re.compile(r"(?P<sign>[+-]?)(?P<figure>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")

_YES_NO = {
    "yes": Word.YES,
    "y": Word.YES,
    "true": Word.YES,
    "no": Word.NO,
    "n": Word.NO,
    "false": Word.NO,
}
_TIGHT = _YES_NO | {"closed tight": Word.YES, "leaked": Word.NO}
_OPENING = {"did not open": Word.DID_NOT_OPEN}
_CLOSING = {"leaked": Word.LEAKED, "closed tight": Word.CLOSED_TIGHT}


@dataclass(frozen=True, kw_only=True)
class _CellKind:
    figures: bool
    words: Mapping[str, Word]
    mend: str


_OPENING_CELL = _CellKind(
    figures=True,
    words=_OPENING,
    mend='write the figure the gauge showed, or "did not open", or leave it blank',
)
_CHECK_CELL = _CellKind(
    figures=True,
    words=_CLOSING,
    mend='write the figure the gauge showed, or "leaked", or "closed tight", or leave it blank',
)
_TIGHT_CELL = _CellKind(figures=False, words=_TIGHT, mend='write "yes" or "no", or leave it blank')
_YES_NO_CELL = _CellKind(
    figures=False, words=_YES_NO, mend='write "yes" or "no", or leave it blank'
)
_SHUTOFF_CELL = _CellKind(
    figures=False,
    words=_TIGHT | {"no flow": Word.NO_FLOW},
    mend='write "yes", "no" or "no flow" (it leaks, but no flow was shown), or leave it blank',
)

_KINDS: Mapping[ReadingName, _CellKind] = MappingProxyType(
    {
        ReadingName.RELIEF: _OPENING_CELL,
        ReadingName.AIR_INLET: _OPENING_CELL,
        ReadingName.BYPASS_RELIEF: _OPENING_CELL,
        ReadingName.CHECK1: _CHECK_CELL,
        ReadingName.CHECK2: _CHECK_CELL,
        ReadingName.CHECK: _CHECK_CELL,
        ReadingName.BYPASS_CHECK1: _CHECK_CELL,
        ReadingName.BYPASS_CHECK2: _CHECK_CELL,
        ReadingName.CHECK1_TIGHT: _TIGHT_CELL,
        ReadingName.CHECK2_TIGHT: _TIGHT_CELL,
        ReadingName.BYPASS_CHECK2_TIGHT: _TIGHT_CELL,
        ReadingName.AIR_INLET_FULL: _YES_NO_CELL,
        ReadingName.METER_MOVED: _YES_NO_CELL,
        ReadingName.SHUTOFF2_TIGHT: _SHUTOFF_CELL,
        ReadingName.SHUTOFF1_TIGHT: _TIGHT_CELL,
    }
)


def read_cell(*, name: ReadingName, column: str, text: str) -> ReadCell:
    """The reading a cell holds; ``"2,0"`` is 2.0 with a warning, a blank is not recorded.

    "Not reached" says why a step has no reading: one before it failed. It is no reading either.
    Raises CellError for what is no plain figure (``1e3``, ``1_000``, ``NaN``, full-width
    digits), for a figure below 0 or above 200, and for a word the column does not know.
    """
    plain = " ".join(text.split())
    if not plain or plain.casefold() == NOT_REACHED:
        return ReadCell(reading=None)
    kind = _KINDS[name]
    word = kind.words.get(plain.casefold())
    if word is not None:
        return ReadCell(reading=word)
    if not kind.figures:
        raise CellError(column=column, value=text, message=f"not understood; {kind.mend}")
    return _figure(column=column, text=text, plain=plain, mend=kind.mend)


def read_unit(*, column: str, text: str) -> Unit:
    """The unit a cell names; blank means psid. Raises CellError for any other unit."""
    wanted = text.strip().casefold()
    if not wanted:
        return Unit.PSID
    for unit in Unit:
        if unit.value.casefold() == wanted:
            return unit
    raise CellError(
        column=column, value=text, message='unit not known; write "psid", "psi" or "kPa"'
    )


def _figure(*, column: str, text: str, plain: str, mend: str) -> ReadCell:
    match = _FIGURE.fullmatch(plain)
    if match is None or len(plain) > LONGEST_CELL:
        raise CellError(column=column, value=text, message=f"is no figure; {mend}")
    figure = Decimal(match["figure"].replace(",", "."))
    if match["sign"] == "-" and figure:
        message = f"a reading is never negative; {mend}"
        raise CellError(column=column, value=text, message=message)
    if figure > MOST:
        message = f"above {MOST}, more than a gauge shows; {mend}"
        raise CellError(column=column, value=text, message=message)
    warning = f"{column}: {plain} read as {figure:f}" if "," in plain else ""
    return ReadCell(reading=figure, warning=warning)
