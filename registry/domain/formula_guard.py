"""Cells that a spreadsheet would run as a formula: made safe on the way out, undone on the way in.

A text that starts with = + - @, a tab or a line break gets an apostrophe in front, the mark
spreadsheets themselves use for text. One that already starts with apostrophes before such a
character gets one more, so that taking one away always gives the original.
"""

import re

_AT_RISK = re.compile(r"'*[=+\-@\t\r\n\x00\uff1d\uff0b\uff0d\uff20]")
_GUARDED = re.compile(r"''*[=+\-@\t\r\n\x00\uff1d\uff0b\uff0d\uff20]")


def guarded(text: str) -> str:
    """The text as it may be written into a cell: `=1+1` becomes `'=1+1`."""
    return "'" + text if _AT_RISK.match(text) else text


def unguarded(cell: str) -> str:
    """The text a guarded cell stands for; any other cell is returned as it is."""
    return cell[1:] if _GUARDED.match(cell) else cell
