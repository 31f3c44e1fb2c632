"""Two rulebooks drawn side by side: due dates by how far they move, letters month by month."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from reports.drawing.ribbon import round_top
from reports.drawing.svg import MONTHS, Sheet, text_width

_ROW: Final = 26.0
_TOP: Final = 14.0
_BARS: Final = 140.0
_FOOT: Final = 40.0


def moves(buckets: Sequence[tuple[str, int]], *, width: float, says: str) -> str:
    """A bar for each span of days: what moves is to come, so the bars are hollow."""
    left = max(text_width(words) for words, _ in buckets) + 14
    most = max([count for _, count in buckets] + [1])
    room = width - left - text_width(f"{most:,}") - 16
    sheet = Sheet(width=width, height=_ROW * len(buckets) + 8, says=says)
    for row, (words, count) in enumerate(buckets):
        y = row * _ROW + 4
        sheet.text(left - 10, y + 14, words, look="end")
        if count:
            long = max(room * count / most, 1.5)
            sheet.rect(left, y + 3, long, 13, look="hollow")
            sheet.text(left + long + 8, y + 14, f"{count:,}", look="worked")
        else:
            sheet.text(left + 8, y + 14, "—", look="second")
    sheet.line(left, 0, left, _ROW * len(buckets) + 4, look="ink w1")
    return sheet.markup()


def letters(months: Sequence[tuple[str, int, int]], *, width: float, says: str) -> str:
    """Two bars a month: solid edge for the rules in force, hollow for the draft."""
    top = round_top(max([max(now, then) for _, now, then in months] + [1]))
    left = text_width(f"{top:,}") + 10
    sheet = Sheet(width=width, height=_TOP + _BARS + _FOOT, says=says)
    base, slot = _TOP + _BARS, (width - left) / max(len(months), 1)
    for part in (1, 2, 3):
        y = base - _BARS * part / 3
        sheet.line(left, y, width, y, look="hair")
        sheet.text(left - 6, y + 4, f"{top * part // 3:,}", look="end second")
    for place, (label, now, then) in enumerate(months):
        x = left + place * slot
        _pair(sheet, now=now, then=then, x=x, slot=slot, base=base, scale=_BARS / top)
        _under(sheet, label, x=x, slot=slot, base=base, place=place)
    _years(sheet, [label for label, _, _ in months], left=left, slot=slot, base=base)
    sheet.line(left, base, width, base, look="ink w1")
    return sheet.markup()


def _pair(
    sheet: Sheet, *, now: int, then: int, x: float, slot: float, base: float, scale: float
) -> None:
    bar = slot * 0.36
    if now:
        sheet.rect(x + slot * 0.12, base - now * scale, bar, now * scale, look="solid-edge")
    if then:
        sheet.rect(x + slot * 0.52, base - then * scale, bar, then * scale, look="hollow")


def _under(sheet: Sheet, label: str, *, x: float, slot: float, base: float, place: int) -> None:
    """The month under its bars, where there is room."""
    name = MONTHS[int(label[-2:]) - 1]
    if slot > text_width(name) + 4 or place % 3 == 0:
        sheet.text(x + slot * 0.12, base + 16, name, look="serif")


def _years(sheet: Sheet, labels: Sequence[str], *, left: float, slot: float, base: float) -> None:
    """The year under its January, and under the first month where there is room before it."""
    free_from = left
    for place in reversed(range(len(labels))):
        x = left + place * slot + slot * 0.12
        is_first = place == 0
        room = text_width("2026") + 6
        if labels[place].endswith("-01") or (is_first and x + room <= free_from):
            sheet.text(x, base + 33, labels[place][:4], look="second")
            free_from = x
