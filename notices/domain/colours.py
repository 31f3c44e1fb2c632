"""An office's colour: read, and checked against every ground it may stand on.

The figure is the contrast ratio of WCAG 2.2, from relative luminance; 4.5 to 1 is what text needs
(success criterion 1.4.3).
"""

from __future__ import annotations

import re

LEAST = 4.5

GROUNDS = {
    "white": "#ffffff",
    "the page": "#f7f9f8",
    "the ground of fields": "#e9eff0",
    "a picked row": "#d9e8f0",
}
"""White paper, and the light grounds of our pages."""

_HEX = re.compile(r"#?([0-9a-fA-F]{6})")


def read_colour(text: str) -> str:
    """Return a colour as `#rrggbb`, or nothing where the text is none."""
    found = _HEX.fullmatch(text.strip())
    return f"#{found.group(1).lower()}" if found else ""


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21, whichever is the lighter."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def why_too_pale(colour: str) -> str:
    """Say on what ground a colour cannot be read, with the figure; empty where it can."""
    ground, least = min(
        ((name, contrast(colour, shade)) for name, shade in GROUNDS.items()),
        key=lambda pair: pair[1],
    )
    if least >= LEAST:
        return ""
    figure = int(least * 100) / 100
    on_white = int(contrast(colour, "#ffffff") * 100) / 100
    return (
        f"{colour} on {ground} has a contrast of {figure:.2f} to 1 ({on_white:.2f} on white); "
        f"text needs {LEAST}. Take a darker one."
    )


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(int(colour[place : place + 2], 16) / 255) for place in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
