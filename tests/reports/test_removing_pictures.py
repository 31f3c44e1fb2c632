"""A picture or scan is removed for good: its bytes go, its hash stays, ledger and evidence hold."""

from __future__ import annotations

import hashlib
import json
from datetime import date
from importlib import import_module
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection
from pypdf import PdfReader

from notices.models import HandoverPhoto, Letter
from registry.changes import Hand
from registry.console import Refused
from registry.domain.kinds import PictureKind
from registry.models import PictureRemoval, Program
from reports.actions.entries import take_entry
from reports.actions.entry_photos import keep_photo
from reports.actions.papers import keep_paper, take_paper_up
from reports.domain.entry_body import read_body
from reports.erasing.people import PARTY
from reports.erasing.removing import KEPT, bytes_of, remove_picture
from reports.evidence.checking import checked
from reports.evidence.pages import drawn
from reports.evidence.sealing import sealed
from reports.evidence.telling import Case as EvidenceCase
from reports.evidence.telling import letters_of, story_of
from reports.ledger.checking import differences
from reports.ledger.picture_sources import removals_told
from reports.ledger.sealing import head_of, seal
from reports.models import EntryPhoto, EntryVersion, FieldEntry, Paper, PaperPage
from reports.views.entering import photos_missing
from tests.notices.offices import office
from tests.reports.removing_cases import ALL, AT, HAND, SENDER, Case, made_case, picture, record

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def case() -> Case:
    return made_case()


def answered_ledger(program: Program) -> tuple[int, Any]:
    said, code = StringIO(), 0
    try:
        call_command("check_ledger", "--program", program.code, "--json", stdout=said)
    except SystemExit as ended:
        code = int(ended.code or 0)
    return code, json.loads(said.getvalue())


@pytest.mark.parametrize("kind", ALL)
def test_the_bytes_go_and_the_hash_stays_under_every_seal(case: Case, kind: PictureKind) -> None:
    head, row = head_of(case.program), case.row(kind)
    data, _ = bytes_of(row, kind=kind)
    sha256 = hashlib.sha256(data).hexdigest()
    assert getattr(row, KEPT[kind].sha256) == sha256
    assert case.found() == []
    done = case.remove(kind)
    assert done is not None
    assert (done.sha256, done.size, done.was_whole) == (sha256, len(data), True)
    after = case.row(kind)
    assert (bytes_of(after, kind=kind)[0], getattr(after, KEPT[kind].sha256)) == (b"", sha256)
    assert list(differences(case.program, head=head)) == []
    seal(case.program, on=date(2026, 1, 7), at=AT)
    assert list(differences(case.program, head=head)) == []
    words = kind.value.replace("-", " ").capitalize()
    (told,) = removals_told(case.program)
    assert told.startswith(f"{words} {row.pk} was removed on 2026-01-06 by Ada Birch, its hash ")
    assert told.endswith(f"kept: asked by letter of January 4 (SHA-256 {sha256})")
    code, said = answered_ledger(case.program)
    assert (code, said["differences"], len(said["removed"])) == (0, [], 1)


@pytest.mark.parametrize("kind", ALL)
def test_no_copy_of_it_is_left_in_the_database(case: Case, kind: PictureKind) -> None:
    data, _ = bytes_of(case.row(kind), kind=kind)
    case.remove(kind)
    for model in (HandoverPhoto, EntryPhoto, Paper, PaperPage):
        assert data not in [bytes(one.content) for one in model._base_manager.all()]
    assert data not in [bytes(one.signature or b"") for one in FieldEntry.objects.all()]
    if kind is PictureKind.SCAN:
        assert not PaperPage.objects.filter(paper=case.pk(kind)).exists()
        assert "Holloway" not in json.dumps(list(FieldEntry.objects.values_list("body", flat=True)))
        assert Paper.objects.get(pk=case.pk(kind)).file_name == ""
    if kind is PictureKind.SIGNATURE:
        told = json.dumps(list(FieldEntry.objects.values_list("body", flat=True)))
        assert "base64" not in told


@pytest.mark.parametrize("kind", ALL)
def test_bytes_gone_without_a_removal_or_back_after_one_are_named(
    case: Case, kind: PictureKind
) -> None:
    rows, field = KEPT[kind].rows(case.program).filter(pk=case.pk(kind)), KEPT[kind].content
    data, _ = bytes_of(case.row(kind), kind=kind)
    rows.model.objects.filter(pk=case.pk(kind)).update(**{field: b""})
    assert "its bytes are gone, and no removal on record says why" in " ".join(case.found())
    rows.model.objects.filter(pk=case.pk(kind)).update(**{field: data[:-1] + b"x"})
    assert "its kept bytes are not those of its hash" in " ".join(case.found())
    removal = case.remove(kind)
    assert removal is not None
    assert not removal.was_whole
    assert "its bytes were not those of its hash any more" in " ".join(case.found())
    rows.model.objects.filter(pk=case.pk(kind)).update(**{field: data})
    assert "it was removed, and bytes are there again" in " ".join(case.found())


def test_a_removal_changed_or_taken_away_after_a_seal_is_named(case: Case) -> None:
    case.remove(PictureKind.REPORT_PHOTO)
    seal(case.program, on=date(2026, 1, 7), at=AT)
    assert case.found() == []
    PictureRemoval.objects.update(sha256="0" * 64, reason="another")
    said = " ".join(case.found())
    assert "Picture removed" in said
    assert "its hash is not the one it had when it was removed" in said
    assert "the personal data were changed" in said
    PictureRemoval.objects.all().delete()
    said = " ".join(case.found())
    assert "is gone; the ledger has it as" in said
    assert "no removal on record says why" in said


def test_a_hash_changed_on_the_row_is_named_by_the_ledger(case: Case) -> None:
    HandoverPhoto.objects.update(sha256="1" * 64)
    assert "sha256 was" in " ".join(case.found())


def test_it_wants_a_reason_is_done_once_and_only_by_its_own_office(case: Case) -> None:
    with pytest.raises(Refused, match="Say why"):
        case.remove(PictureKind.SCAN, hand=Hand(by="Ada", at=AT, reason=" "))
    assert PictureRemoval.objects.count() == 0
    other = office("dry-hills")
    pk = case.pk(PictureKind.SCAN)
    assert remove_picture(other, kind=PictureKind.SCAN, pk=pk, hand=HAND) is None
    assert Paper.objects.get(pk=pk).content
    case.remove(PictureKind.SCAN)
    with pytest.raises(Refused, match="removed before"):
        case.remove(PictureKind.SCAN)
    assert PictureRemoval.objects.count() == 1


def test_a_scan_nobody_keyed_leaves_the_queue_for_good(case: Case) -> None:
    paper = Paper.objects.get(entry__isnull=True)
    data = bytes(paper.content)
    remove_picture(case.program, kind=PictureKind.SCAN, pk=paper.pk, hand=HAND)
    paper.refresh_from_db()
    assert (paper.put_aside, paper.put_aside_by) == ("Its scan was removed from the record.",
                                                      "Ada Birch")  # fmt: skip
    take_paper_up(paper_id=paper.pk)
    paper.refresh_from_db()
    assert paper.put_aside
    _, is_new = keep_paper(program=case.program, data=data, name="x", layout="", hand=HAND)
    paper.refresh_from_db()
    assert (is_new, bytes(paper.content), paper.pages.count()) == (False, b"", 0)
    assert case.found() == []


def test_what_a_device_sends_again_does_not_bring_it_back(case: Case) -> None:
    photo = picture(red=80)
    told = record(case.assembly, photo=photo)
    case.remove(PictureKind.SIGNATURE)
    case.remove(PictureKind.REPORT_PHOTO)
    body = read_body(told)
    again = take_entry(program=case.program, body=body, assembly=case.assembly, sender=SENDER).entry
    keep_photo(entry=again, sha256=body.photos[0], data=photo, at=AT)
    again.refresh_from_db()
    assert bytes(again.signature or b"") == b""
    assert bytes(EntryPhoto.objects.get().content) == b""
    assert EntryVersion.objects.count() == 0
    assert photos_missing(again) == []


def test_evidence_says_what_was_removed_and_still_verifies(case: Case) -> None:
    for kind in ALL:
        case.remove(kind)
    case.site.refresh_from_db()
    story = story_of(EvidenceCase(premises=case.site), as_of=date(2026, 1, 8), hand=HAND)
    told = [event for event in story.events if "its hash is kept" in event.what]
    number = Letter.objects.get().number
    assert sorted(event.what.split(" was removed")[0] for event in told) == [
        f"A photo of letter {number} as it was handed over",
        "A photo that came with the report",
        "The report as it came on paper",
        "The signature drawn under the report",
    ]
    assert {event.by for event in told} == {"Ada Birch"}
    for one in told:
        kept = next(event for event in story.events if event.what == one.what.split(" removed;")[0]
                    + " kept.")  # fmt: skip
        assert story.events.index(kept) < story.events.index(one)
    assert all(event.ground.startswith("asked by letter of January 4. SHA-256") for event in told)
    made = sealed(drawn(story), story=story, letters=letters_of(story, premises=case.site))
    assert checked(made).faults == []
    pages = " ".join(page.extract_text() for page in PdfReader(BytesIO(made)).pages)
    assert "was removed; its hash is kept" in " ".join(pages.split())


@pytest.mark.skipif(connection.vendor != "sqlite", reason="only SQLite keeps text in such a column")
def test_text_written_over_bytes_is_named_and_stops_no_check(case: Case) -> None:
    with connection.cursor() as cursor:
        for table, column in (("reports_paper", "content"), ("notices_letterfile", "pdf")):
            cursor.execute(f"UPDATE {table} SET {column} = CAST(x'FFFE41' AS TEXT)")
    said = case.found()
    assert sum("its kept bytes are not those of its hash" in one for one in said) == 2
    assert sum("its kept bytes are not those that were sent" in one for one in said) == 1


def test_signatures_drawn_before_their_hash_was_kept_get_it_from_their_bytes(case: Case) -> None:
    (was,) = FieldEntry.objects.exclude(signature_sha256="").values_list(
        "signature_sha256", flat=True
    )
    FieldEntry.objects.update(signature_sha256="")
    step: Any = import_module("reports.migrations.0027_hash_signatures_kept")
    step.hash_signatures(apps, None)
    kept = list(FieldEntry.objects.values_list("signature_sha256", flat=True))
    assert sorted(kept) == ["", was]


def test_the_command_says_how_many_pictures_are_to_be_looked_at(case: Case) -> None:
    case.remove(PictureKind.SCAN)
    said = StringIO()
    call_command(
        "erase_person", PARTY, str(case.party.pk), "--program", "flats", "--json", stdout=said
    )
    assert json.loads(said.getvalue())["pictures"] == 3
