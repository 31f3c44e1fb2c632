"""Who erases a person is told which pictures and scans a person must look at: no search does."""

from __future__ import annotations

import hashlib
import uuid
from datetime import date
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.urls import reverse

from notices.actions.day import run_day
from notices.models import Delivery, HandoverPhoto
from registry.changes import Hand
from registry.domain.kinds import PictureKind
from registry.models import Assembly, Party, Program
from reports.domain.blackening import BAR
from reports.erasing.acting import erase
from reports.erasing.people import PARTY, person_of
from reports.erasing.pictures import Picture, pictures_of
from reports.models import EntryVersion, FieldEntry, Paper, PaperKeying
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
    found = [(one.kind, one.key, one.sha256) for one in listed(program, mine)]
    assert found == [
        (PictureKind.HANDED_OVER, photos[mine.pk].pk, photos[mine.pk].sha256),
        (PictureKind.SCAN, paper.pk, paper.sha256),
    ]
    assert [one.about for one in listed(program, other)][1:] == ["other.png"]

    client = client_of(program, "ada")
    page = client.get(reverse("erase-person", args=["flats", PARTY, mine.pk])).content.decode()
    assert "Pictures and scans to look at" in page
    for one in listed(program, mine):
        where = reverse("erase-picture", args=["flats", one.kind.value, one.key])
        assert f'href="{where}?back=party-{mine.pk}"' in page
        assert one.sha256[:16] in page
        assert client.get(where).status_code == 200
    assert "other.png" not in page


def test_where_nothing_was_photographed_nothing_is_said_of_it() -> None:
    program = office()
    party, _ = owned(program, 1)
    client = client_of(program, "ada")
    page = client.get(reverse("erase-person", args=["flats", PARTY, party.pk])).content.decode()
    assert "Pictures and scans to look at" not in page


def test_erasing_a_party_bars_the_name_in_records_as_they_came_and_names_of_files() -> None:
    program = office()
    party, its_assembly = owned(program, 1)
    paper = scanned(its_assembly, program=program, name="Owner 1, test.png")
    entry = paper.entry
    assert entry is not None
    said = {"fields": {"remarks": "Owner 1 let me in"}}
    FieldEntry.objects.filter(pk=entry.pk).update(body=said, attestation="Seen by Owner 1")
    EntryVersion.objects.create(entry=entry, body=said, body_sha256="a", received_at=AT)
    reader = get_user_model().objects.create_user("reader")
    PaperKeying.objects.create(
        paper=paper, person=reader, type="RP", fields={"remarks": "owner 1"}, at=AT
    )
    person: Any = person_of(program, what=PARTY, pk=party.pk)
    hand = Hand(by="Ada", at=AT, reason="asked")
    erase(person, program=program, typed="Owner 1", is_forced=True, hand=hand, today=START)
    kept = [
        *FieldEntry.objects.values_list("body", "attestation"),
        *EntryVersion.objects.values_list("body"),
        *Paper.objects.values_list("file_name"),
        *PaperKeying.objects.values_list("fields"),
    ]
    assert "owner 1" not in str(kept).lower()
    assert str(kept).count(BAR) == 5
