"""The letter's typefaces: static cuts kept beside this package, and what they can draw."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics

from notices.rendering.subsets import EmbeddedFont

FOLDER = Path(__file__).resolve().parent.parent / "fonts"

SERIF = "WaterclerkSerif-Regular"
SERIF_BOLD = "WaterclerkSerif-SemiBold"
SERIF_ITALIC = "WaterclerkSerif-Italic"
SANS = "WaterclerkSans-Regular"
SANS_BOLD = "WaterclerkSans-SemiBold"
SANS_ITALIC = "WaterclerkSans-Italic"

_ALL = (SERIF, SERIF_BOLD, SERIF_ITALIC, SANS, SANS_BOLD, SANS_ITALIC)


@cache
def register() -> None:
    """Make the faces known to ReportLab, once per process."""
    for name in _ALL:
        pdfmetrics.registerFont(EmbeddedFont(name, str(FOLDER / f"{name}.ttf")))
    pdfmetrics.registerFontFamily(SANS, normal=SANS, bold=SANS_BOLD, italic=SANS_ITALIC)
    pdfmetrics.registerFontFamily(SERIF, normal=SERIF, bold=SERIF_BOLD, italic=SERIF_ITALIC)


def width(text: str, *, face: str, size: float) -> float:
    """Return how wide the text stands, in points."""
    register()
    return float(pdfmetrics.stringWidth(text, face, size))


def missing_letters(texts: Iterable[str]) -> str:
    """Return the letters that no face of ours can draw, each once, in order of code."""
    used = set().union(*map(set, texts)) - _drawable()
    return "".join(sorted(letter for letter in used if not letter.isspace()))


@cache
def _drawable() -> frozenset[str]:
    """What both upright text faces hold: the smaller, the serif, sets no data but headlines."""
    register()
    codes = [set(pdfmetrics.getFont(name).face.charToGlyph) for name in _ALL]
    return frozenset(map(chr, set.intersection(*codes)))
