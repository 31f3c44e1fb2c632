"""How letters look: a colour that can be read, a logo made plain, kept with the letters drawn."""

from __future__ import annotations

from datetime import UTC, date, datetime
from io import BytesIO

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from notices.actions.day import run_day
from notices.links import token_of
from notices.models import Letter, LetterLogo
from notices.rendering.logos import LogoRefusedError, read_logo
from notices.rendering.missing_glyphs import what_is_missing
from registry.models import Change, Membership, Program
from tests.notices.offices import assembly, office, owner, premises

SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


def picture(
    *, size: tuple[int, int] = (900, 300), kind: str = "PNG", colour: str = "navy"
) -> bytes:
    stream = BytesIO()
    Image.new("RGB", size, colour).save(
        stream, kind, **({"exif": b"Exif\0\0secret"} if kind == "JPEG" else {})
    )
    return stream.getvalue()


def office_with_a_letter(client: Client) -> tuple[Client, Program]:
    program = office()
    assembly(premises(program, of=owner(program)), facts=[("passed", date(2024, 6, 1))])
    user = User.objects.create_user("head")
    Membership.objects.create(user=user, role="administrator", program=program)
    client.force_login(user)
    return client, program


def kept(client: Client, program: Program, **fields: object) -> int:
    told = {"colour": "", "spanish": "asked", "way": "headline", "sheet": "letter", **fields}
    return client.post(reverse("letter-look", args=[program.code]), told).status_code


def run(program: Program) -> Letter:
    run_day(program=program, as_of=date(2026, 1, 6), now=datetime(2026, 1, 6, 9, tzinfo=UTC))
    return Letter.objects.select_related("file").get()


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_logo_is_made_small_and_nothing_else_of_the_file_is_kept(kind: str) -> None:
    logo = read_logo(picture(kind=kind))
    assert (logo.width, logo.height) == (480, 160)
    assert logo.png.startswith(b"\x89PNG")
    assert b"secret" not in logo.png
    assert len(logo.png) < 20_000
    assert read_logo(picture(kind=kind)).sha256 == logo.sha256


def test_transparency_becomes_white_paper() -> None:
    stream = BytesIO()
    clear = Image.new("RGBA", (300, 100), (0, 0, 0, 0))
    for corner in ((10, 10), (90, 90)):
        clear.putpixel(corner, (0, 0, 0, 255))
    clear.save(stream, "PNG")
    logo = read_logo(stream.getvalue())
    assert (logo.width, logo.height) == (81, 81), "the empty margin is cut off"
    with Image.open(BytesIO(logo.png)) as plain:
        assert plain.convert("RGB").getpixel((40, 20)) == (255, 255, 255)


@pytest.mark.parametrize(
    ("upload", "told"),
    [
        (SVG, "no PNG and no JPEG"),
        (b"", "no PNG and no JPEG"),
        (picture()[:200], "no PNG and no JPEG"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 3_000_000, "at most 2,000,000"),
        (picture(size=(7000, 100)), "a side may have 6,000"),
        (picture(size=(20, 200)), "a side needs 24"),
        (picture(colour="white"), "white all over"),
    ],
    ids=["svg", "empty", "cut short", "too many bytes", "too wide", "too small", "white"],
)
def test_what_is_no_logo_is_refused_with_what_to_do(upload: bytes, told: str) -> None:
    with pytest.raises(LogoRefusedError, match=told):
        read_logo(upload)


def test_a_missing_character_is_named_with_where_it_stands() -> None:
    told = what_is_missing(["Plain", "The \u6f22 Shop on Elm Street"])
    assert "\u201c\u6f22\u201d (cjk unified ideograph-6f22)" in told
    assert "The \u6f22 Shop" in told
    assert what_is_missing(["Łuczak, Жанна, ñ, \u201c \u2013 ½"]) == ""
    assert "and 2 more" in what_is_missing(["\u6f22\u5b57\u4e00\u4e8c\u4e09"])


@pytest.mark.django_db
def test_a_pale_colour_is_refused_with_its_figure(client: Client) -> None:
    mine, program = office_with_a_letter(client)
    answer = mine.post(
        reverse("letter-look", args=[program.code]),
        {"colour": "#ffcc00", "spanish": "asked", "way": "headline"},
    )
    assert answer.status_code == 422
    assert "1.2" in answer.content.decode()
    assert "text needs 4.5" in answer.content.decode()
    program.refresh_from_db()
    assert "colour" not in program.letterhead


@pytest.mark.django_db
def test_letters_and_owner_pages_take_the_colour_and_the_logo(client: Client) -> None:
    mine, program = office_with_a_letter(client)
    logo = SimpleUploadedFile("logo.png", picture(), content_type="image/png")
    assert kept(mine, program, colour="7a1f3d", logo=logo) == 302
    program.refresh_from_db()
    letter = run(program)
    stored = LetterLogo.objects.get()
    assert letter.content["letterhead"]["colour"] == "#7a1f3d"
    assert letter.content["letterhead"]["logo"] == stored.sha256
    page = PdfReader(BytesIO(bytes(letter.file.pdf))).pages[0]
    assert (480, 160) in {image.image.size for image in page.images if image.image}
    drawn = page.get_contents()
    assert drawn is not None
    assert b".478431 .121569 .239216 rg" in drawn.get_data()
    token = token_of(program_code=program.code, number=letter.number)
    owners = client.get(reverse("owner-page", args=[token])).content.decode()
    assert reverse("look-css", args=["7a1f3d"]) in owners
    assert reverse("look-logo", args=[stored.sha256]) in owners
    assert client.get(reverse("look-logo", args=[stored.sha256])).content == bytes(stored.png)
    assert "--water: #7a1f3d" in client.get(reverse("look-css", args=["7a1f3d"])).content.decode()
    assert client.get(reverse("look-css", args=["ffcc00"])).status_code == 404
    assert Change.objects.filter(what="program").exists()


@pytest.mark.django_db
def test_a_letter_composed_before_keeps_its_look(client: Client) -> None:
    mine, program = office_with_a_letter(client)
    letter = run(program)
    before = letter.content, bytes(letter.file.pdf)
    kept(mine, program, colour="#7a1f3d", way="whole", spanish="everybody")
    letter.refresh_from_db()
    assert (letter.content, bytes(letter.file.pdf)) == before
    program.refresh_from_db()
    assert program.languages == "en,es"
    assert program.letterhead["language_way"] == "whole"
    assert program.letterhead["phone"] == "(555) 010-0142"


@pytest.mark.django_db
def test_letters_are_drawn_for_the_paper_and_envelope_the_office_chose(client: Client) -> None:
    client, program = office_with_a_letter(client)
    refused = client.post(
        reverse("letter-look", args=[program.code]),
        {"spanish": "asked", "way": "headline", "sheet": "a4", "envelope": "220x110 90x45 20 70"},
    )
    assert refused.status_code == 422
    assert "could show the letterhead" in refused.content.decode()
    assert kept(client, program, sheet="a4") == 302
    program.refresh_from_db()
    assert program.letterhead["paper"] == "a4 220x110 90x45 20 15"
    page = PdfReader(BytesIO(bytes(run(program).file.pdf))).pages[0]
    assert [round(float(side)) for side in page.mediabox[2:]] == [595, 842]
    shown = client.get(reverse("letter-look", args=[program.code])).content.decode()
    assert 'value="a4" selected' in shown or "A4" in shown
    assert kept(client, program) == 302
    program.refresh_from_db()
    assert program.letterhead["paper"] == ""
