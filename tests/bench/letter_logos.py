"""A logo as offices have them, to weigh letters with: four flat colours, 400 by 120."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageDraw, ImageFont

from notices.rendering.faces import FOLDER

SIZE = (400, 120)
BLUE, GREEN, AMBER = "#0b5c8e", "#2e8b57", "#d9822b"


def four_colours(*, is_blended: bool = False) -> bytes:
    """Return a PNG of a ring, a drop and two lines of words; `is_blended`: soft edges."""
    made = Image.new("RGB", SIZE, "white")
    pen = ImageDraw.Draw(made)
    pen.fontmode = "L" if is_blended else "1"
    pen.ellipse((6, 10, 106, 110), fill=BLUE)
    pen.ellipse((30, 34, 82, 86), fill="white")
    pen.polygon([(56, 14), (26, 70), (86, 70)], fill=GREEN)
    face = ImageFont.truetype(str(FOLDER / "WaterclerkSans-SemiBold.ttf"), 44)
    pen.text((120, 16), "Tamarack", fill=BLUE, font=face)
    pen.text((120, 62), "Flats Water", fill=AMBER, font=face)
    stream = BytesIO()
    made.save(stream, "PNG")
    return stream.getvalue()
