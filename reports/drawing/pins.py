"""A list's premises on a drawn map: a mark for each by its worst assembly, rings for many close."""

from __future__ import annotations

from collections.abc import Sequence

from reports.drawing.clusters import Cluster, Pin
from reports.drawing.ground import Ground, finish, name_streets, sheet_on
from reports.drawing.projection import Projection
from reports.drawing.svg import Sheet, text_width


def premises_map(
    alone: Sequence[Pin],
    together: Sequence[Cluster],
    *,
    words: Sequence[str],
    sprite: str,
    ground: Ground,
    projection: Projection,
    says: str,
) -> str:
    """North up; `words` names each gravity, and with it the mark in the sprite at an address."""
    sheet, taken = sheet_on(ground, projection, says=says)
    marked: list[Pin | Cluster] = [*together, *alone]
    spots = [(*projection.at(one.lat, one.lon), one) for one in marked]
    for x, y, one in spots:
        half = 26 if isinstance(one, Cluster) else 10
        taken.add((x - half, y - 14, x + half, y + 14))
    name_streets(sheet, ground, projection, taken)
    for x, y, one in sorted(spots, key=lambda spot: -spot[2].gravity):
        word = words[one.gravity]
        if isinstance(one, Cluster):
            _ring(sheet, x, y, one, href=f"{sprite}#{word}", word=word)
        else:
            is_quiet = word in {"good", "exempt", "removed"}
            sheet.dot(x, y, 6 if is_quiet else 10, look="disc")
            sheet.mark(x, y, 10 if is_quiet else 13, f"{sprite}#{word}", look=f"mark-of {word}")
    finish(sheet, projection)
    return sheet.markup()


def _ring(sheet: Sheet, x: float, y: float, one: Cluster, *, href: str, word: str) -> None:
    count = f"{one.premises:,}"
    wide = max(30.0, text_width(count) + 27)
    sheet.rounded(x - wide / 2, y - 14, wide, 28, look="ring")
    sheet.mark(x - wide / 2 + 13, y, 11, href, look=f"mark-of {word}")
    sheet.text(x - wide / 2 + 20, y + 4.5, count, look="bold")
