"""What a device sends: taken once, never turned away for its content, answered with a receipt."""

from __future__ import annotations

import hashlib
import json
from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from registry.models import Question
from reports.models import EntryPhoto, FieldEntry, FieldTest
from tests.access.cast import Cast
from tests.reports.entering.conftest import Send, record

PHOTOS = "/p/flats/enter/photos/"


def jpeg(*, shade: int = 90, size: tuple[int, int] = (2000, 1000)) -> bytes:
    exif = Image.Exif()
    exif[0x010F] = "Somebody’s camera"
    exif[0x0112] = 6  # turned by a quarter
    exif.get_ifd(0x8825)[1] = "N"
    kept = BytesIO()
    Image.new("RGB", size, (shade, 40, 40)).save(kept, "JPEG", exif=exif)
    return kept.getvalue()


def post_photo(client: Client, record_id: str, data: bytes, sha256: str = "") -> Any:
    name = sha256 or hashlib.sha256(data).hexdigest()
    where = f"{PHOTOS}?record={record_id}&sha256={name}"
    return client.post(where, data, content_type="image/jpeg")


def test_the_same_record_again_gets_the_first_receipt(tester: Client, send: Send) -> None:
    body = record()
    first, second = send(tester, body).json(), send(tester, body).json()
    assert first["receipt"] == second["receipt"]
    assert (first["first"], second["first"]) == (True, False)
    assert FieldEntry.objects.filter(client_id=body["id"]).count() == 1
    assert FieldTest.objects.filter(initial__relief="2.4").count() == 1


def test_another_order_of_keys_is_the_same_record(tester: Client, send: Send) -> None:
    body = record()
    send(tester, body)
    turned = dict(reversed(body.items()))
    turned["fields"] = dict(reversed(body["fields"].items()))
    assert send(tester, turned).json()["other_version"] is False


def test_another_body_under_the_same_id_is_kept_and_shown(
    cast: Cast, tester: Client, clerk: Client, send: Send
) -> None:
    body = record()
    send(tester, body)
    other = {**body, "fields": {**body["fields"], "initial_relief": "1.7"}}
    for _ in range(2):
        answer = send(tester, other)
        assert answer.status_code == 200
        assert answer.json()["other_version"] is True
    entry = FieldEntry.objects.get(client_id=body["id"])
    assert entry.versions.count() == 1
    assert Question.objects.filter(kind="two versions of a report").count() == 1
    page = clerk.get(f"/p/flats/enter/records/{entry.pk}/").content.decode()
    assert "Both are kept" in page
    assert "1.7" in page
    assert "2.4" in page


def test_two_phones_on_one_assembly_lose_nothing(tester: Client, send: Send) -> None:
    send(tester, record())
    send(tester, record(initial_relief="2.6"))
    assert FieldEntry.objects.filter(channel="device", person__isnull=False).count() == 2
    sent = FieldTest.objects.filter(serial="A100", outcome="pass", entries__isnull=False)
    assert sent.count() == 2
    code = sent[0].program.code
    shown = tester.get(f"/p/{code}/field-tests/").content.decode()
    assert all(f"/p/{code}/field-tests/{one.pk}/" in shown for one in sent)


@pytest.mark.parametrize(
    ("body", "field", "mend"),
    [
        ("{", "record", "no record of a field test"),
        ("[]", "record", "no record of a field test"),
        ({"id": "7"}, "fields", "no fields"),
        (record(id="7"), "id", "open the form anew"),
        (record(type="XX"), "type", "the types are RP, DC"),
        (record(type="AVB"), "type", "has no field test"),
    ],
)
def test_what_is_no_record_is_refused_with_its_mend(
    tester: Client, send: Send, body: object, field: str, mend: str
) -> None:
    answer = send(tester, body)
    assert answer.status_code == 422
    assert answer.json()["field"] == field
    assert mend in answer.json()["message"]


@pytest.mark.parametrize(
    ("said", "mend"),
    [
        ({"serial": ""}, "write the one on the assembly's plate"),
        ({"tested_on": "2027-02-01"}, "2027-02-01"),
        ({"initial_relief": "2,1o"}, "is no figure"),
        ({"unit": "bar"}, "psid"),
    ],
)
def test_a_record_that_cannot_be_read_is_kept_whole_and_asked_about(
    tester: Client, send: Send, said: dict[str, str], mend: str
) -> None:
    answer = send(tester, record(**said)).json()
    assert answer["needs_a_look"] is True
    entry = FieldEntry.objects.get(receipt=answer["receipt"])
    assert entry.field_test is None
    assert mend in json.dumps(entry.faults)
    assert Question.objects.filter(kind="report that cannot be read").count() == 1


def test_what_was_attested_is_kept_word_for_word(tester: Client, send: Send) -> None:
    answer = send(tester, record(attestation="By these very words.")).json()
    assert FieldEntry.objects.get(receipt=answer["receipt"]).attestation == "By these very words."


def test_an_unknown_version_of_the_form_is_taken(tester: Client, send: Send) -> None:
    answer = send(tester, record(form="0", strange="a field of another day"))
    assert answer.status_code == 200
    entry = FieldEntry.objects.get(receipt=answer.json()["receipt"])
    assert (entry.form_version, entry.body["fields"]["strange"]) == ("0", "a field of another day")


def test_an_assembly_no_longer_in_sight_is_still_found_by_its_serial(
    cast: Cast, tester: Client, send: Send
) -> None:
    cast.home.program.assignments.update(ended_on="2026-11-01")
    answer = send(tester, record(assembly=cast.home.ids["assembly"])).json()
    entry = FieldEntry.objects.get(receipt=answer["receipt"])
    assert entry.assembly is None
    assert entry.field_test is not None
    assert entry.field_test.assembly_id == cast.home.ids["assembly"]


def test_a_photo_is_drawn_anew_without_place_and_upright(tester: Client, send: Send) -> None:
    data = jpeg()
    body = record(photos=[{"sha256": hashlib.sha256(data).hexdigest()}])
    assert send(tester, body).json()["missing_photos"] == [hashlib.sha256(data).hexdigest()]
    for _ in range(2):
        answer = post_photo(tester, body["id"], data)
        assert answer.status_code == 200
    assert answer.json()["missing"] == []
    kept = EntryPhoto.objects.get(entry__client_id=body["id"])
    image = Image.open(BytesIO(bytes(kept.content)))
    assert (image.format, image.size) == ("JPEG", (800, 1600))
    assert not image.getexif()
    assert b"camera" not in bytes(kept.content)


def test_a_photo_before_its_record_is_asked_to_wait(tester: Client) -> None:
    answer = post_photo(tester, "0b9f1c1e-7f4b-4c55-8f8f-111111111111", jpeg())
    assert (answer.status_code, answer.json()["try_again"]) == (409, True)


@pytest.mark.parametrize(
    ("data", "sha256", "try_again", "mend"),
    [
        (b"<svg onload='x'/>", "", False, "send a JPEG or PNG or WEBP"),
        (b"GIF89a....", "", False, "send a JPEG or PNG or WEBP"),
        (jpeg()[:400], "", False, "send a JPEG or PNG or WEBP"),
        (jpeg(), "a" * 64, True, "It is sent again"),
        (b"\xff\xd8" + b"0" * (8 * 1024 * 1024), "", False, "larger than 8 MB"),
    ],
)
def test_what_is_no_photo_is_refused_by_its_content(
    tester: Client, send: Send, data: bytes, sha256: str, try_again: bool, mend: str
) -> None:
    body = record()
    send(tester, body)
    answer = post_photo(tester, body["id"], data, sha256)
    assert answer.status_code == 422
    assert answer.json()["try_again"] is try_again
    assert mend in answer.json()["message"]
    assert not EntryPhoto.objects.filter(entry__client_id=body["id"]).exists()


def test_a_tester_sees_no_record_or_photo_of_another(
    cast: Cast, tester: Client, unassigned: Client, send: Send
) -> None:
    data = jpeg()
    body = record(photos=[{"sha256": hashlib.sha256(data).hexdigest()}])
    send(tester, body)
    post_photo(tester, body["id"], data)
    entry = FieldEntry.objects.get(client_id=body["id"])
    photo = entry.photos.get()
    for where in (f"records/{entry.pk}/", f"pictures/{photo.pk}/"):
        assert tester.get(f"/p/flats/enter/{where}").status_code == 200
        assert unassigned.get(f"/p/flats/enter/{where}").status_code == 404
    assert post_photo(unassigned, body["id"], jpeg(shade=1)).status_code == 409


@pytest.mark.parametrize(
    ("data", "mend"),
    [
        (None, "Choose the file"),
        (b"\xff\xfe", "cannot be read"),
        (b'{"what": "something"}', "no file of field tests"),
        (b'{"what": "waterclerk field tests", "records": []}', "holds no record"),
    ],
)
def test_a_file_that_is_none_is_refused_with_its_mend(
    clerk: Client, data: bytes | None, mend: str
) -> None:
    upload = {"file": SimpleUploadedFile("x.json", data)} if data is not None else {}
    answer = clerk.post("/p/flats/enter/file/", upload)
    assert answer.status_code == 422
    assert mend in answer.content.decode()


def test_a_record_of_another_person_waits_for_them(cast: Cast, tester: Client) -> None:
    where = "/p/flats/enter/send/"
    body = json.dumps(record())
    kind = "application/json"
    refused = tester.post(where, body, content_type=kind, headers={"x-handed-in-by": "999999"})
    assert refused.status_code == 403
    assert "when they are logged in" in refused.json()["message"]
    mine = str(cast.people["tester"].pk)  # type: ignore[union-attr]
    taken = tester.post(where, body, content_type=kind, headers={"x-handed-in-by": mine})
    assert taken.status_code == 200


def test_one_broken_record_in_a_file_stops_no_other(clerk: Client) -> None:
    told = {"what": "waterclerk field tests", "records": [{"id": "7"}, record()], "photos": [3]}
    upload = SimpleUploadedFile("x.json", json.dumps(told).encode())
    answer = clerk.post("/p/flats/enter/file/", {"file": upload})
    assert "Record 1:" in answer.content.decode()
    assert FieldEntry.objects.filter(channel="file").count() == 1


def test_a_drawn_signature_is_kept_as_a_picture(tester: Client, send: Send) -> None:
    from base64 import b64encode

    image = Image.new("RGBA", (600, 200), (0, 0, 0, 0))
    image.paste((20, 35, 43, 255), (40, 90, 400, 96))
    kept = BytesIO()
    image.save(kept, "PNG")
    png = "data:image/png;base64," + b64encode(kept.getvalue()).decode()
    answer = send(tester, record(signature={"how": "drawn", "png": png}, signed_name="")).json()
    entry = FieldEntry.objects.get(receipt=answer["receipt"])
    assert entry.signed_how == "drawn"
    assert entry.signature is not None
    assert Image.open(BytesIO(bytes(entry.signature))).format == "PNG"
    page = tester.get(answer["page"]).content.decode()
    assert "data:image/png;base64," in page


def test_the_keepers_script_is_never_kept_and_names_its_build(client: Client) -> None:
    answer = client.get("/enter-worker.js")
    assert "no-cache" in answer["Cache-Control"]
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer.content.startswith(b'self.BUILD = "1-')
