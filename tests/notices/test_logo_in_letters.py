"""A logo stands in the file as it was kept: the same picture, once, in few bytes."""

from __future__ import annotations

import statistics
from dataclasses import replace
from io import BytesIO

import pytest
from pikepdf import Name, Pdf, PdfImage, Stream
from PIL import Image, ImageDraw

from notices.catalogues import words_in
from notices.domain.composing import compose
from notices.rendering.letters import RenderedLetter, render
from notices.rendering.logos import read_logo
from tests.bench.letter_logos import four_colours
from tests.bench.letters import content_of
from tests.domain.notices.letters import LINK, SENDER, brief, item

LONGEST_KEPT = 25_000
"""Bytes of the median letter in two languages, tags and logo included."""

WEIGHT = 900
"""Bytes that a letter with a logo may weigh more than the logo itself."""


def picture(colours: int) -> bytes:
    """A drawing whose edges blend, of so many colours."""
    made = Image.new("RGB", (900, 300), "white")
    pen = ImageDraw.Draw(made)
    for n in range(colours):
        pen.ellipse((20 + 70 * n, 20, 140 + 70 * n, 280), fill=(10 + 20 * n, 90, 230 - 20 * n))
    stream = BytesIO()
    made.save(stream, "PNG")
    return stream.getvalue()


def letter(png: bytes | None, *, count: int = 1) -> RenderedLetter:
    items = [item(serial=f"S{n}") for n in range(count)]
    one = brief("final", *items, sender=replace(SENDER, logo="x" if png else ""))
    return render(compose(one, words=words_in("en")), link=LINK, logo=png)


@pytest.mark.parametrize("upload", [picture(1), picture(3), picture(10), four_colours()])
def test_the_picture_in_the_file_is_the_one_that_was_kept(upload: bytes) -> None:
    logo = read_logo(upload)
    with Pdf.open(BytesIO(letter(logo.png).pdf)) as pdf:
        (found,) = pdf.pages[0].Resources.XObject.values()
        assert isinstance(found, Stream)
        assert found.Subtype == Name.Image
        shown = PdfImage(found).as_pil_image().convert("RGB")
    with Image.open(BytesIO(logo.png)) as kept:
        assert shown.tobytes() == kept.convert("RGB").tobytes()


def test_a_logo_weighs_about_what_its_file_weighs() -> None:
    logo = read_logo(picture(10))
    more = len(letter(logo.png).pdf) - len(letter(None).pdf)
    assert more <= len(logo.png) + WEIGHT


def test_a_long_letter_has_it_once_and_the_same_bytes_each_time() -> None:
    logo = read_logo(picture(3))
    long = letter(logo.png, count=40)
    assert long.pages > 2
    assert long.pdf == letter(logo.png, count=40).pdf
    with Pdf.open(BytesIO(long.pdf)) as pdf:
        streams = [one for one in pdf.objects if isinstance(one, Stream)]
        images = [one for one in streams if one.get("/Subtype") == Name.Image]
    assert len(images) == 1


def test_a_usual_letter_with_a_usual_logo_is_light() -> None:
    logo = read_logo(four_colours())
    sizes = []
    for number in range(8):
        content = content_of(number)
        head = replace(content.letterhead, logo="x")
        sizes.append(len(render(replace(content, letterhead=head), link=LINK, logo=logo.png).pdf))
    assert statistics.median(sizes) <= LONGEST_KEPT
