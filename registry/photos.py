"""Pictures from outside: looked at by what they are, drawn anew by us, and nothing else kept."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageOps

LONGEST_SIDE = 1600
MOST_BYTES = 8 * 1024 * 1024
MOST_PIXELS = 60_000_000
QUALITY = 82
_FORMATS = ("JPEG", "PNG", "WEBP")
_SIGNATURE = (1200, 400)


class PictureError(ValueError):
    """A picture that is not taken; the message says why and what to send instead."""


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A picture as we drew it."""

    content: bytes
    width: int
    height: int


def redrawn(
    data: bytes,
    *,
    longest: int = LONGEST_SIDE,
    most: int = MOST_BYTES,
    formats: tuple[str, ...] = _FORMATS,
) -> Picture:
    """The picture as a JPEG of at most `longest` pixels a side, upright, EXIF and place gone.

    Raises PictureError: larger than `most` bytes, of another format whatever its name says, or
    damaged.
    """
    image = _opened(data, most=most, formats=formats)
    return drawn_as_jpeg(ImageOps.exif_transpose(image).convert("RGB"), longest=longest)


def drawn_as_jpeg(image: Image.Image, *, longest: int) -> Picture:
    """An opened picture in RGB as a JPEG of our own, at most `longest` pixels a side."""
    image.thumbnail((longest, longest))
    # A fresh image: what was beside the pixels (place, maker, thumbnails) is not carried over.
    clean = Image.new("RGB", image.size)
    clean.paste(image)
    kept = BytesIO()
    clean.save(kept, "JPEG", quality=QUALITY, optimize=True)
    return Picture(content=kept.getvalue(), width=clean.width, height=clean.height)


def redrawn_signature(data: bytes) -> bytes:
    """A drawn signature as a PNG of our own, grey on white. Raises PictureError."""
    image = _opened(data, most=MOST_BYTES, formats=("PNG",)).convert("RGBA")
    paper = Image.new("RGBA", image.size, "white")
    paper.alpha_composite(image)
    grey = paper.convert("L")
    if grey.getextrema()[0] > 200:  # type: ignore[operator]
        raise PictureError("The signature is empty. Draw it, or type your full name.")
    grey.thumbnail(_SIGNATURE)
    kept = BytesIO()
    grey.save(kept, "PNG", optimize=True)
    return kept.getvalue()


def _opened(data: bytes, *, most: int, formats: tuple[str, ...]) -> Image.Image:
    if len(data) > most:
        raise PictureError(
            f"The picture is larger than {most // 1024 // 1024} MB. Make it smaller."
        )
    known = " or ".join(formats)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            image = Image.open(BytesIO(data), formats=formats)
            if image.width * image.height > MOST_PIXELS:
                raise PictureError("The picture has too many pixels. Send a smaller one.")
            image.load()
    except PictureError:
        raise
    except (OSError, ValueError, SyntaxError, Warning, Image.DecompressionBombError) as error:
        raise PictureError(f"This is no picture of ours to read: send a {known}.") from error
    return image
