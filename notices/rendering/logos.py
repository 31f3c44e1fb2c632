"""The office's logo: an upload made small and plain, and its place at the head of a letter."""

from __future__ import annotations

import hashlib
import warnings
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import Any

from PIL import Image, ImageChops, UnidentifiedImageError

from notices.rendering.marks import drawn_as
from notices.rendering.paper import Paper
from notices.rendering.pdf_objects import Written, placed, stream_of

MOST_BYTES = 2_000_000
MOST_SIDE = 6_000
"""Pixels of an upload's longer side."""

LEAST_SIDE = 24
KEPT_WIDTH, KEPT_HEIGHT = 480, 160
"""Pixels it is made to fit: over 300 to an inch at the size it is drawn."""

DRAWN_WIDTH, DRAWN_HEIGHT = 100.0, 34.0
"""Points it fits at the head of a letter, above the double rule."""

LOGO_GAP = 10.0
COLOURS = 64
NAMED = 8
"""Letters of its digest by which a file calls it."""

_FORMATS = ("PNG", "JPEG")


class LogoRefusedError(ValueError):
    """The upload cannot be a logo; the message says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Logo:
    """A logo as it is kept: a PNG without transparency, of few colours."""

    png: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """The digest under which it is kept and named in letters."""
        return hashlib.sha256(self.png).hexdigest()


def read_logo(upload: bytes) -> Logo:
    """Return the upload re-encoded: nothing of the file but its picture is kept.

    PNG and JPEG only; a drawing in SVG may hold scripts and is refused. Raises LogoRefusedError.
    """
    if len(upload) > MOST_BYTES:
        raise LogoRefusedError(
            f"The file has {len(upload):,} bytes; at most {MOST_BYTES:,} are taken. "
            "Make it smaller."
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(BytesIO(upload), formats=_FORMATS) as opened:
                _check_size(opened.size)
                picture = opened.convert("RGBA")
    except (UnidentifiedImageError, Image.DecompressionBombWarning, OSError, SyntaxError) as error:
        raise LogoRefusedError(
            "This is no PNG and no JPEG that can be read. Save the logo as a PNG and try again."
        ) from error
    return _kept(picture)


def _check_size(size: tuple[int, int]) -> None:
    width, height = size
    if max(size) > MOST_SIDE:
        raise LogoRefusedError(
            f"The picture has {width:,} by {height:,} pixels; a side may have {MOST_SIDE:,}. "
            "Make it smaller."
        )
    if min(size) < LEAST_SIDE:
        raise LogoRefusedError(
            f"The picture has {width:,} by {height:,} pixels; a side needs {LEAST_SIDE}. "
            "Take a larger one."
        )


def _kept(picture: Image.Image) -> Logo:
    white = Image.new("RGBA", picture.size, "white")
    plain = Image.alpha_composite(white, picture).convert("RGB")
    drawn_on = ImageChops.difference(plain, white.convert("RGB")).getbbox()
    if drawn_on is None:
        raise LogoRefusedError("The picture is white all over. Take another.")
    plain = plain.crop(drawn_on)
    plain.thumbnail((KEPT_WIDTH, KEPT_HEIGHT), Image.Resampling.LANCZOS)
    few = plain.quantize(COLOURS, dither=Image.Dither.NONE)
    stream = BytesIO()
    few.save(stream, "PNG", optimize=True)
    return Logo(png=stream.getvalue(), width=few.width, height=few.height)


def draw_logo(canvas: Any, png: bytes, paper: Paper) -> float:
    """Draw it at the left margin, above the rule; return how wide it stands, in points.

    The name beside it says the same in words, so it is an artifact.
    """
    picture = _read(png)
    scale = min(DRAWN_WIDTH / picture.width, DRAWN_HEIGHT / picture.height)
    width, height = picture.width * scale, picture.height * scale
    foot = paper.from_top(paper.letterhead_baselines[1] + 3)
    name = _placed_once(canvas, picture, digest=hashlib.sha256(png).hexdigest()[:NAMED])
    with drawn_as(canvas, None):
        # Pictures that are written as they stand have no public way into ReportLab's canvas.
        canvas._code.append(
            f"q {width:.3f} 0 0 {height:.3f} {paper.left:.3f} {foot:.3f} cm /{name} Do Q"
        )
    return width


@dataclass(frozen=True, slots=True, kw_only=True)
class _Packed:
    """A kept logo as a PDF takes it: its palette, and the place in it of each of its points."""

    width: int
    height: int
    palette: bytes
    points: bytes


@lru_cache(maxsize=8)
def _read(png: bytes) -> _Packed:
    """Read a kept logo, which has a palette. ReportLab would unfold it.

    Its points are packed as they stand: where there is a palette, a PNG's filters mostly weigh
    more than they save (W3C PNG, 12.7), and a file would have to say how they work.
    """
    with Image.open(BytesIO(png), formats=("PNG",)) as opened:
        if opened.mode != "P":
            raise ValueError("a kept logo has a palette")
        palette = opened.getpalette("RGB") or []
        width, height = opened.size
        return _Packed(width=width, height=height, palette=bytes(palette), points=opened.tobytes())


def _placed_once(canvas: Any, picture: _Packed, *, digest: str) -> str:
    """Write the picture into the document, where it is not in it yet; return its name there."""
    document = canvas._doc
    name = str(document.getXObjectName(digest))
    if name not in document.idToObject:
        palette = placed(document, f"<{picture.palette.hex().upper()}>".encode("ascii"))
        said = (
            f"/Type /XObject /Subtype /Image /Width {picture.width} /Height {picture.height} "
            f"/ColorSpace [ /Indexed /DeviceRGB {len(picture.palette) // 3 - 1} {palette} ] "
            "/BitsPerComponent 8"
        )
        made = Written(stream_of(picture.points, said=said))
        document.Reference(made, name)
        document.addForm(digest, made)
    canvas._formsinuse.append(digest)
    return name
