"""A scanned report looked at by its content: what kind it is, and its pages as pictures."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

import pikepdf
from PIL import Image

from registry.photos import MOST_PIXELS, Picture, PictureError, drawn_as_jpeg, redrawn

MOST_BYTES = 15 * 1024 * 1024
MOST_PAGES = 10
LONGEST_SIDE = 2200
_LEAST_SIDE = 500
_A_MEGABYTE = 1024 * 1024
_UNREADABLE = (
    *(pikepdf.PdfError, zlib.error, NotImplementedError),
    *(ValueError, OSError, KeyError, TypeError),
)
_SAME_SHAPE = 0.12
"""How far the shape of a picture may be from its page's: a scan fills its page, a logo does not."""


class ScanError(ValueError):
    """A file that is not taken as a report on paper; the message says what to send instead."""


@dataclass(frozen=True, kw_only=True)
class Scan:
    """A file that is taken: its kind by content, its hash, how many pages, and their pictures.

    A PDF whose pages are drawn and not scanned has no pictures: the browser shows it itself.
    """

    kind: str
    sha256: str
    page_count: int
    pages: tuple[Picture, ...]


def read_scan(data: bytes) -> Scan:
    """What a file is, whatever its name says. Raises ScanError."""
    if not data:
        raise ScanError("The file is empty. Scan the report again.")
    if len(data) > MOST_BYTES:
        raise ScanError("The file is larger than 15 MB. Scan it at 200 dots an inch.")
    sha256 = hashlib.sha256(data).hexdigest()
    if b"%PDF-" in data[:1024]:
        count, pages = _of_pdf(data)
        return Scan(kind="pdf", sha256=sha256, page_count=count, pages=pages)
    kind = "png" if data.startswith(b"\x89PNG") else "jpeg"
    try:
        page = redrawn(data, longest=LONGEST_SIDE, most=MOST_BYTES, formats=("JPEG", "PNG"))
    except PictureError as error:
        raise ScanError(f"{error} Or send the report as a PDF.") from error
    return Scan(kind=kind, sha256=sha256, page_count=1, pages=(page,))


def _of_pdf(data: bytes) -> tuple[int, tuple[Picture, ...]]:
    try:
        with pikepdf.open(BytesIO(data)) as pdf:
            count = len(pdf.pages)
            if not 0 < count <= MOST_PAGES:
                raise ScanError(f"It has {count} pages; a report has 1 to {MOST_PAGES}. Split it.")
            pages = tuple(one for one in _pictures(pdf) if one is not None)
    except pikepdf.PasswordError as error:
        raise ScanError("The PDF has a password. Save it without one.") from error
    except pikepdf.PdfError as error:
        raise ScanError("The PDF is damaged. Scan the report again.") from error
    return count, pages if len(pages) == count else ()


def _pictures(pdf: pikepdf.Pdf) -> Iterator[Picture | None]:
    for page in pdf.pages:
        yield _picture(page)


def _picture(page: pikepdf.Page) -> Picture | None:
    """The one scan that fills the page, upright; None where the page is anything else."""
    try:
        found = [
            pikepdf.PdfImage(one)
            for one in page.get_images().values()
            if isinstance(one, pikepdf.Stream) and not _swells(one)
        ]
        if len(found) != 1 or not _fills(found[0], page):
            return None
        image: Image.Image = found[0].as_pil_image()
        turned = int(page.obj.get("/Rotate", 0)) % 360
        upright = image.convert("RGB").rotate(-turned, expand=True) if turned else image
        return drawn_as_jpeg(upright.convert("RGB"), longest=LONGEST_SIDE)
    except (
        pikepdf.PdfError,
        NotImplementedError,
        ValueError,
        OSError,
        KeyError,
        TypeError,
        zlib.error,
    ):
        # A filter that is not ours to read: the browser shows the PDF as it came.
        return None


def _swells(stream: pikepdf.Stream) -> bool:
    """Whether a packed picture unpacks to more than it says it is: it is not unpacked at all."""
    if "FlateDecode" not in str(stream.get("/Filter", "")):
        return False
    wide, high = int(stream.get("/Width", 0)), int(stream.get("/Height", 0))
    most = wide * high * 4 + high + _A_MEGABYTE
    unpacker, packed, size = zlib.decompressobj(), stream.read_raw_bytes(), 0
    while packed and size <= most:
        size += len(unpacker.decompress(packed, _A_MEGABYTE))
        packed = unpacker.unconsumed_tail
    return size > most


def _fills(image: pikepdf.PdfImage, page: pikepdf.Page) -> bool:
    if image.width * image.height > MOST_PIXELS or min(image.width, image.height) < _LEAST_SIDE:
        return False
    left, low, right, high = (float(one) for one in page.mediabox)
    if not (right - left) or not (high - low):
        return False
    shape = (right - left) / (high - low)
    return abs(image.width / image.height / shape - 1) <= _SAME_SHAPE
