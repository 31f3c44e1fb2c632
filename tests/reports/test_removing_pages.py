"""On the pages a picture is looked at and removed, and where it stood the page says so."""

from __future__ import annotations

import hashlib
import re
from typing import Any
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from registry.domain.kinds import PictureKind, Role
from registry.models import PictureRemoval
from reports.erasing.people import PARTY, person_of
from reports.erasing.pictures import SHOWN, pictures_of
from reports.erasing.removing import bytes_of, remove_picture
from reports.models import Paper
from tests.reports.removing_cases import ALL, AT, HAND, Case, made_case
from tests.reports.test_erasing import client_of

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def case() -> Case:
    return made_case()


def of_person(case: Case, client: Client) -> str:
    where = reverse("erase-person", args=["flats", PARTY, case.party.pk])
    return client.get(where).content.decode()


@pytest.mark.parametrize("kind", ALL)
def test_on_the_page_it_is_looked_at_then_removed_with_a_reason(
    case: Case, kind: PictureKind
) -> None:
    client, clerk = client_of(case.program, "ada"), client_of(case.program, "bo", Role.CLERK)
    pk = case.pk(kind)
    where = reverse("erase-picture", args=["flats", kind.value, pk])
    back = f"{where}?back=party-{case.party.pk}"
    assert f'href="{back}"' in of_person(case, client)
    data, mime = bytes_of(case.row(kind), kind=kind)
    shown = client.get(f"{where}file/")
    assert (shown.content, shown["Content-Type"]) == (data, mime)
    page = client.get(back).content.decode()
    assert hashlib.sha256(data).hexdigest() in page
    assert clerk.get(where).status_code == clerk.post(where).status_code == 403
    unsure = client.post(back, {"reason": "asked"})
    assert unsure.status_code == 200
    assert "it cannot be brought back" in unsure.content.decode()
    assert PictureRemoval.objects.count() == 0
    done = client.post(back, {"reason": "asked on January 4", "is_sure": "on"})
    assert done["Location"] == reverse("erase-person", args=["flats", PARTY, case.party.pk])
    assert "the hash is kept" in of_person(case, client)
    assert "asked on January 4" in client.get(where).content.decode()
    assert client.get(f"{where}file/").status_code == 404
    person: Any = person_of(case.program, what=PARTY, pk=case.party.pk)
    removed = {one.kind: one.removal for one in pictures_of(person, program=case.program)}
    assert [one for one, removal in removed.items() if removal] == [kind]
    stands = next(one for one in pictures_of(person, program=case.program) if one.kind is kind)
    page = client.get(reverse(stands.page, args=["flats", stands.page_key])).content.decode()
    assert "emoved Jan" in page.replace("was removed", "removed")
    assert "hash is kept" in page


def test_where_pictures_were_served_nothing_is_served_any_more(case: Case) -> None:
    client = client_of(case.program, "ada")
    paper = case.pk(PictureKind.SCAN)
    served = [
        reverse("handover-photo", args=["flats", case.pk(PictureKind.HANDED_OVER)]),
        reverse("enter-picture", args=["flats", case.pk(PictureKind.REPORT_PHOTO)]),
        reverse("paper-file", args=["flats", paper]),
        reverse("paper-page", args=["flats", paper, 1]),
    ]
    assert [client.get(one).status_code for one in served] == [200] * 4
    for kind in ALL:
        case.remove(kind)
    assert [client.get(one).status_code for one in served] == [404] * 4


def test_scans_nobody_keyed_are_looked_through_apart(case: Case) -> None:
    client = client_of(case.program, "ada")
    assert re.search(r"\b1\sscan nobody has keyed</a>", of_person(case, client))
    where = reverse("erase-pictures", args=["flats"])
    page = client.get(where).content.decode()
    assert "nobody keyed it.png" in page
    assert "Holloway test.png" not in page
    lists = {
        "keyed": PictureKind.SCAN,
        "photos": PictureKind.REPORT_PHOTO,
        "handed-over": PictureKind.HANDED_OVER,
        "signatures": PictureKind.SIGNATURE,
    }
    for of, kind in lists.items():
        assert f"/pictures/{kind}/" in client.get(where, {"of": of}).content.decode()
    for of, kind in lists.items():
        for words, count in (
            (case.site.address[:9], 1),
            (case.assembly.serial, of != "handed-over"),
        ):
            found = client.get(where, {"of": of, "q": words}).content.decode()
            assert found.count(f"/pictures/{kind}/") == count, (of, words)
    nothing = client.get(where, {"q": "x" * 30, "page": "9" * 5, "of": "?"}).content.decode()
    assert "Nothing here answers" in nothing


def test_a_file_dropped_in_again_is_told_as_known(case: Case) -> None:
    paper = Paper.objects.get(entry__isnull=True)
    data = bytes(paper.content)
    remove_picture(case.program, kind=PictureKind.SCAN, pk=paper.pk, hand=HAND)
    client = client_of(case.program, "bo", Role.CLERK)
    upload = SimpleUploadedFile("again.png", data, content_type="image/png")
    where = reverse("papers", args=["flats"])
    page = client.post(where, {"file": upload}, follow=True).content.decode()
    assert "came before and is kept once" in page
    assert Paper.objects.filter(put_aside="").count() == 1


def test_a_long_list_goes_over_pages_and_loses_none(case: Case) -> None:
    Paper.objects.bulk_create(
        Paper(
            program=case.program, client_id=UUID(int=100 + n), sha256=f"{n:064x}", kind="png",
            file_name=f"scan {n:03d}.png", content=b"x", received_at=AT,
        )
        for n in range(SHOWN)
    )  # fmt: skip
    client = client_of(case.program, "ada")
    where = reverse("erase-pictures", args=["flats"])
    first, second = (client.get(where, {"page": page}).content.decode() for page in ("1", "2"))
    shown = re.findall(r">Scanned report ([^<]+)</a>", first + second)
    assert len(shown) == len(set(shown)) == SHOWN + 1
    assert ("Earlier</a>" in first, "Newer</a>" in first) == (True, False)
    assert ("Earlier</a>" in second, "Newer</a>" in second) == (False, True)
