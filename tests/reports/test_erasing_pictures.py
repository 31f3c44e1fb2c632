"""Who erases a person is told which pictures and scans a person must look at: no search does."""

from __future__ import annotations

import hashlib
import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from notices.actions.day import run_day
from notices.models import Delivery, HandoverPhoto
from registry.models import Assembly, Party, Program
from reports.erasing.people import PARTY, person_of
from reports.erasing.pictures import Picture, pictures_of
from reports.models import FieldEntry, Paper
from tests.notices.offices import AT, START, assembly, office, owner, premises
from tests.reports.test_erasing import NOW, client_of

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def owned(program: Program, number: int) -> tuple[Party, Assembly]:
    party = owner(program, f"Owner {number}")
    place = premises(program, number, of=party)
    return party, assembly(place, f"S{number}", facts=(("passed", date(2024, 12, 1)),))


def scanned(one: Assembly | None, *, program: Program, name: str) -> Paper:
    entry = None
    if one is not None:
        entry = FieldEntry.objects.create(
            program=program, client_id=uuid.uuid4(), body={}, body_sha256=digest(name),
            channel="page", assembly=one, receipt=name[:40], received_at=AT,
        )  # fmt: skip
    return Paper.objects.create(
        program=program, client_id=uuid.uuid4(), sha256=digest(name), file_name=name, kind="png",
        content=b"x", received_at=AT, entry=entry,
    )  # fmt: skip


def photographed(delivery: Delivery, *, name: str) -> HandoverPhoto:
    return HandoverPhoto.objects.create(
        delivery=delivery, sent_sha256=digest(name), sha256=digest(name), content=b"x", width=1,
        height=1, taken_by="Ada", stored_at=AT,
    )  # fmt: skip


def listed(program: Program, party: Party) -> list[Picture]:
    person: Any = person_of(program, what=PARTY, pk=party.pk)
    return pictures_of(person, program=program)


def test_what_was_photographed_and_scanned_of_a_person_is_listed_and_of_no_other() -> None:
    program = office()
    (mine, my_assembly), (other, others_assembly) = owned(program, 1), owned(program, 2)
    run_day(program=program, as_of=START, now=NOW)
    paper = scanned(my_assembly, program=program, name="mine.png")
    scanned(others_assembly, program=program, name="other.png")
    scanned(None, program=program, name="nobody-keyed-it.png")
    photos = {
        one.letter.recipient_id: photographed(one, name=f"photo {one.letter.recipient_id}")
        for one in Delivery.objects.select_related("letter")
    }
    found = [(one.page, one.key, one.sha256) for one in listed(program, mine)]
    assert found == [
        ("handover-photo", photos[mine.pk].pk, photos[mine.pk].sha256),
        ("paper", paper.pk, paper.sha256),
    ]
    assert [one.about for one in listed(program, other)][1:] == ["other.png"]

    client = client_of(program, "ada")
    page = client.get(reverse("erase-person", args=["flats", PARTY, mine.pk])).content.decode()
    assert "Pictures and scans to look at" in page
    for one in listed(program, mine):
        where = reverse(one.page, args=["flats", one.key])
        assert f'href="{where}"' in page
        assert one.sha256[:16] in page
        assert client.get(where).status_code == 200
    assert "other.png" not in page


def test_where_nothing_was_photographed_nothing_is_said_of_it() -> None:
    program = office()
    party, _ = owned(program, 1)
    client = client_of(program, "ada")
    page = client.get(reverse("erase-person", args=["flats", PARTY, party.pk])).content.decode()
    assert "Pictures and scans to look at" not in page
