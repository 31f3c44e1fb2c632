"""The pages of contacts, objections and letters that came back, as a clerk uses them."""

from __future__ import annotations

from datetime import UTC, date, datetime
from io import BytesIO

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from notices.actions.day import run_day
from notices.models import Contact, Delivery, HandoverPhoto, Letter, Notice, Objection
from registry.models import Membership, Premises, Program
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 1, 5, 20, tzinfo=UTC)
AWKWARD = "A <B & C"


@pytest.fixture
def program() -> Program:
    program = office()
    place = premises(program, of=owner(program))
    assembly(place, facts=(("passed", date(2024, 12, 1)),))
    run_day(program=program, as_of=START, now=NOW)
    return program


@pytest.fixture
def clerk(program: Program) -> Client:
    user = User.objects.create_user("clerk", first_name="Ada", last_name="Clerk")
    Membership.objects.create(user=user, program=program, role="clerk")
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def text_of(client: Client, where: str) -> str:
    answer = client.get(where, follow=True)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_contact_is_written_down_shown_and_withdrawn(clerk: Client) -> None:
    where = f"/p/flats/premises/{Premises.objects.get().pk}/contacts/"
    told = {
        "kind": "call", "on": "2026-01-05", "spoken_with": AWKWARD, "words": "Booked.",
        "promised_for": "2026-01-12", "form_key": "k1",
    }  # fmt: skip
    for _ in range(2):  # the same form twice
        assert clerk.post(where, told).status_code == 302
    page = text_of(clerk, where)
    assert "A &lt;B &amp; C" in page
    assert AWKWARD not in page
    assert Contact.objects.get().taken_by == "Ada Clerk"
    one = Contact.objects.get()
    clerk.post(f"/p/flats/contacts/{one.pk}/withdraw/", {"reason": "Wrong house."})
    assert "withdrawn: Wrong house." in text_of(clerk, where)


def test_a_wrong_contact_says_what_to_mend(clerk: Client) -> None:
    where = f"/p/flats/premises/{Premises.objects.get().pk}/contacts/"
    page = clerk.post(where, {"kind": "call", "on": "2027-01-01", "words": "x"})
    assert page.status_code == 200
    assert "still to come" in page.content.decode()
    assert Contact.objects.count() == 0


def test_an_objection_is_taken_down_and_decided_by_a_named_person(clerk: Client) -> None:
    place, letter = Premises.objects.get(), Letter.objects.get()
    clerk.post(
        f"/p/flats/premises/{place.pk}/objection/?letter={letter.pk}",
        {
            "kind": "objection", "raised_by": "The owner", "raised_on": "2026-01-05",
            "review_on": "2026-02-01", "words": "It is not ours.",
        },
    )  # fmt: skip
    row = Objection.objects.get()
    assert row.letter == letter
    assert "no letter leaves" in text_of(clerk, f"/p/flats/premises/{place.pk}/contacts/")
    where = f"/p/flats/objections/{row.pk}/"
    answer = clerk.post(
        where, {"outcome": "rejected", "decided_by": "M. Chief", "decision": "It is yours."}
    )
    decision = Letter.objects.get(kind="decision")
    assert answer["Location"] == f"/p/flats/letters/{decision.pk}/"
    assert "It is yours." in text_of(clerk, where)


def test_letters_that_came_back_are_entered_and_settled_on_their_page(clerk: Client) -> None:
    letter = Letter.objects.get()
    where = "/p/flats/letters/returned/"
    told = {"how": "undeliverable", "on": "2026-01-05", "codes": f"{letter.number}\nnothing"}
    page = clerk.post(where, told, follow=True).content.decode()
    assert "1 letter is entered as undeliverable." in page
    assert "Line 2: No letter has this number or code." in page
    back = letter.returns.get()
    assert "Its clock stands" in text_of(clerk, f"/p/flats/letters/{letter.pk}/")
    answer = clerk.post(
        f"{where}{back.pk}/",
        {"act": "address", "address": "9 Alder Way", "city": "Tamarack Flats", "state": "WA",
         "zip": "99171", "back": f"/p/flats/letters/{letter.pk}/"},
    )  # fmt: skip
    assert answer["Location"] == f"/p/flats/letters/{letter.pk}/"
    assert Notice.objects.get().left_on is None
    outside = clerk.post(f"{where}{back.pk}/", {"act": "on", "back": "https://example.org/p/"})
    assert outside["Location"] == where


def test_a_letter_marked_as_sent_in_error_shows_its_correction(clerk: Client) -> None:
    letter = Letter.objects.get()
    clerk.post(f"/p/flats/letters/{letter.pk}/error/", {"reason": "Another building."})
    page = text_of(clerk, f"/p/flats/letters/{letter.pk}/")
    assert "Another building." in page
    assert Letter.objects.get(kind="correction").number in page


def _picture() -> bytes:
    kept = BytesIO()
    image = Image.new("RGB", (40, 30), "red")
    exif = image.getexif()
    exif[0x010F] = "A maker"
    image.save(kept, "JPEG", exif=exif)
    return kept.getvalue()


def test_a_door_tag_keeps_a_photo_without_what_stands_beside_the_pixels(clerk: Client) -> None:
    letter = Letter.objects.get()
    door = Delivery.objects.create(letter=letter, channel="door", state="left", left_on=START)
    for _ in range(2):
        photo = SimpleUploadedFile("door.jpg", _picture(), content_type="image/jpeg")
        clerk.post(f"/p/flats/deliveries/{door.pk}/photo/", {"photo": photo})
    kept = HandoverPhoto.objects.get()
    assert b"A maker" not in bytes(kept.content)
    answer = clerk.get(f"/p/flats/handover-photos/{kept.pk}.jpg")
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert "Photo 1, Ada Clerk" in text_of(clerk, f"/p/flats/letters/{letter.pk}/")
    mail = Delivery.objects.get(letter=letter, channel="mail")
    photo = SimpleUploadedFile("door.jpg", _picture(), content_type="image/jpeg")
    clerk.post(f"/p/flats/deliveries/{mail.pk}/photo/", {"photo": photo})
    bad = SimpleUploadedFile("door.jpg", b"<svg/>", content_type="image/jpeg")
    clerk.post(f"/p/flats/deliveries/{door.pk}/photo/", {"photo": bad})
    assert HandoverPhoto.objects.count() == 1
