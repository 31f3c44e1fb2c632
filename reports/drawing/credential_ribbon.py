"""A credential as a ribbon: solid while it held, hollow to come, and a stroke for every test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from reports.drawing.svg import Sheet
from reports.drawing.window import Window

_TOP: Final = 22.0
_BAND: Final = 14.0
_FOOT: Final = 24.0


@dataclass(frozen=True, kw_only=True)
class Span:
    """Days on which a credential holds, both counted; a struck one backs nothing."""

    first: date
    last: date
    is_struck: bool = False


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """A test done on a day; one that is doubtful stands out."""

    on: date
    is_doubtful: bool = False


def credential_window(today: date, *, width: float) -> Window:
    """Three years back and one and a half ahead; half of that on a phone."""
    share = 1.0 if width > 600 else 0.5
    return Window(
        from_on=today - timedelta(days=int(1096 * share)),
        until_on=today + timedelta(days=int(548 * share)),
        width=width,
        left=8,
        names_inside=True,
    )


def credential_ribbon(
    spans: Sequence[Span], strokes: Sequence[Stroke], *, today: date, width: float, says: str
) -> str:
    """The ribbon as SVG; a day outside every span is a gap."""
    window = credential_window(today, width=width)
    sheet = Sheet(width=width, height=_TOP + _BAND + _FOOT, says=says)
    for year in range(window.from_on.year, window.until_on.year + 2):
        begins = date(year, 1, 1)
        if window.holds(begins):
            sheet.line(window.x(begins), _TOP - 6, window.x(begins), _TOP + _BAND + 6, look="hair")
            sheet.text(window.x(begins) + 4, _TOP + _BAND + 19, str(year), look="serif")
    for span in spans:
        _draw(sheet, span, window=window, today=today)
    for stroke in strokes:
        if window.holds(stroke.on):
            look = "red w3" if stroke.is_doubtful else "ink w1"
            sheet.line(window.x(stroke.on), _TOP - 5, window.x(stroke.on), _TOP - 1, look=look)
    here = window.x(today)
    sheet.line(here, _TOP - 8, here, _TOP + _BAND + 6, look="red w1")
    sheet.text(here + 4, _TOP - 9, "today", look="past")
    return sheet.markup()


def _draw(sheet: Sheet, span: Span, *, window: Window, today: date) -> None:
    first = max(span.first, window.from_on)
    last = min(span.last, window.until_on)
    if first > last:
        return
    if span.is_struck:
        middle = _TOP + _BAND / 2
        sheet.line(window.x(first), middle, window.x(last), middle, look="dashed")
        return
    if first < today:
        until = min(last, today)
        sheet.rect(window.x(first), _TOP, window.x(until) - window.x(first), _BAND, look="solid")
    if last > today:
        begins = max(first, today)
        sheet.rect(window.x(begins), _TOP, window.x(last) - window.x(begins), _BAND, look="hollow")
