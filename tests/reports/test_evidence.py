"""The evidence file: a story with its letters attached, in which no byte can be changed unseen."""

from __future__ import annotations

import hashlib
import json
import random
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from pikepdf import Pdf
from pypdf import PdfReader

from notices.actions.day import run_day
from notices.models import Delivery, DeliveryTry, Letter
from registry.changes import Hand
from registry.models import Change, Membership, Premises, Program
from reports.domain.evidence import LetterTold
from reports.evidence.checking import NoEvidenceError, checked
from reports.evidence.pages import drawn
from reports.evidence.sealing import LIST, sealed
from reports.evidence.telling import Case, letters_of, story_of
from scheduling.models import Obligation
from tests.notices.offices import START, assembly, happened, office, owner, premises
from tests.own_database import ROOT, environment_for

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
HAND = Hand(by="Ada Birch", at=datetime(2026, 3, 1, 12, tzinfo=UTC))
OVERDUE = (("passed", date(2024, 12, 1)),)


@pytest.fixture
def case(db: None) -> Case:
    """A whole ladder to the order, and a pass at last."""
    program = office()
    place = premises(program, of=owner(program, "Larch <Court> & Sons"))
    one = assembly(place, facts=OVERDUE)
    for offset in (0, 14, 29, 39):
        run_day(program=program, as_of=START + timedelta(days=offset), now=NOW)
    happened(one, (("passed", date(2026, 2, 20)),), as_of=date(2026, 2, 20))
    run_day(program=program, as_of=date(2026, 2, 21), now=NOW)
    return Case(premises=Premises.objects.select_related("program").get())


TITLES = {
    "first-overdue": "first overdue notice",
    "second-overdue": "second overdue notice",
    "final": "final notice",
    "shutoff-order": "order to shut off water",
}


def made(case: Case) -> bytes:
    story = story_of(case, as_of=date(2026, 3, 1), hand=HAND)
    return sealed(drawn(story), story=story, letters=letters_of(story, premises=case.premises))


def test_the_longest_case_reads_as_a_story(case: Case) -> None:
    story = story_of(case, as_of=date(2026, 3, 1), hand=HAND)
    told = [(event.on.isoformat(), event.what) for event in story.events]
    days = [day for day, _ in told]
    assert days == sorted(days)
    numbers = {one.kind: one.number for one in story.letters}

    def named(kind: str) -> str:
        return f"Letter {numbers[kind]} ({TITLES[kind]})"

    for expected in (
        ("2024-12-01", "It passed its test."),
        ("2026-01-05", "The ladder asked for this: first overdue."),
        ("2026-01-05", f"{named('first-overdue')} left by first-class mail."),
        ("2026-01-19", f"{named('second-overdue')} left by first-class mail."),
        ("2026-02-03", f"{named('final')} left by certified mail."),
        ("2026-02-13", "The ladder asked for this: shutoff order."),
        ("2026-02-20", "It passed its test."),
        ("2026-02-21", f"{named('shutoff-order')} was withdrawn."),
    ):
        assert expected in told
    assert [rules.edition for rules in story.rules] == ["plain-rolling, edition 1"]
    assert story.rules[0].citations


def test_every_letter_is_attached_as_it_was_sent(case: Case) -> None:
    data = made(case)
    with Pdf.open(BytesIO(data)) as pdf:
        files = {name: spec.get_file().read_bytes() for name, spec in pdf.attachments.items()}
    told = json.loads(files.pop(LIST))
    kept = {f"{one.number}.pdf": bytes(one.file.pdf) for one in Letter.objects.all()}
    assert files == kept
    assert {one["sha256"] for one in told["letters"]} == {
        hashlib.sha256(pdf).hexdigest() for pdf in kept.values()
    }


def test_each_letter_names_its_wording(case: Case) -> None:
    letter = Letter.objects.order_by("pk")[0]
    Letter.objects.filter(pk=letter.pk).update(content={**letter.content, "wording": 3})
    told = {one.number: one.wording for one in letters_told(case)}
    assert told.pop(letter.number) == "en: the office\u2019s own, 3"
    assert set(told.values()) == {"en: built in"}
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(made(case))).pages)
    assert "the office\u2019s own, 3" in text


def letters_told(case: Case) -> tuple[LetterTold, ...]:
    return story_of(case, as_of=date(2026, 3, 1), hand=HAND).letters


def test_the_pages_print_names_as_they_are_and_every_try(case: Case) -> None:
    row = Delivery.objects.order_by("pk")[0]
    DeliveryTry.objects.create(
        delivery=row, at=NOW, outcome="refused", code="550", words="5.1.1 <no> & none"
    )
    text = "\n".join(page.extract_text() for page in PdfReader(BytesIO(made(case))).pages)
    flat = " ".join(text.split())
    assert "Larch <Court> & Sons" in flat
    assert "550 5.1.1 <no> & none" in flat
    assert "Ada Birch" in flat


def test_the_evidence_of_one_obligation_tells_of_no_other(case: Case) -> None:
    other = assembly(case.premises, "OTHER-9", facts=OVERDUE)
    assert other.pk
    one = Obligation.objects.filter(assembly__serial="S1", closed_how="met").latest("due_on")
    story = story_of(
        Case(premises=case.premises, obligation=one), as_of=date(2026, 3, 1), hand=HAND
    )
    assert "OTHER-9" not in json.dumps(story.to_plain())
    assert len(story.letters) == 4


def test_the_same_case_gives_the_same_bytes(case: Case) -> None:
    assert made(case) == made(case)


def test_a_good_file_has_no_fault(case: Case) -> None:
    found = checked(made(case))
    assert (found.faults, found.letters) == ([], 4)


def test_any_byte_changed_is_found(case: Case) -> None:
    data, chance = made(case), random.Random(20260105)
    for _ in range(300):
        at = chance.randrange(len(data))
        changed = bytearray(data)
        changed[at] ^= 1 << chance.randrange(8)
        try:
            assert checked(bytes(changed)).faults, at
        except NoEvidenceError:
            continue  # too broken to be read: not taken for good either


@pytest.mark.parametrize("cut", [1, 40, 5000])
def test_a_file_cut_short_or_grown_is_found(case: Case, cut: int) -> None:
    data = made(case)
    assert checked(data + b"x" * cut).faults
    try:
        assert checked(data[:-cut]).faults
    except NoEvidenceError:
        assert cut == 5000  # its index is gone: it cannot be read, and is not taken for good


def test_a_letter_exchanged_is_named_even_under_a_new_check_sum(case: Case) -> None:
    story = story_of(case, as_of=date(2026, 3, 1), hand=HAND)
    letters = letters_of(story, premises=case.premises)
    name = min(letters)
    letters[name] = letters[name].replace(b"%PDF", b"%PDG")
    (fault,) = checked(sealed(drawn(story), story=story, letters=letters)).faults
    assert name.removesuffix(".pdf") in fault
    del letters[name]
    (fault,) = checked(sealed(drawn(story), story=story, letters=letters)).faults
    assert "missing" in fault


@pytest.mark.slow
def test_the_command_needs_no_database(case: Case, tmp_path: Path) -> None:
    good, bad, none = tmp_path / "good.pdf", tmp_path / "bad.pdf", tmp_path / "none.pdf"
    data = made(case)
    good.write_bytes(data)
    bad.write_bytes(data.replace(b"evidence", b"Evidence", 1))
    none.write_bytes(b"%PDF-1.4 nothing")
    codes = {}
    for path in (good, bad, none, tmp_path / "missing.pdf"):
        done = subprocess.run(
            [sys.executable, str(ROOT / "manage.py"), "verify_evidence", str(path), "--json"],
            env=environment_for(f"sqlite:///{tmp_path}/no/such/folder/db.sqlite3"),
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=False,
        )
        codes[path.stem] = done.returncode
        assert json.loads(done.stdout)
    assert codes == {"good": 0, "bad": 1, "none": 2, "missing": 2}


def test_the_page_makes_the_file_and_keeps_that_it_was_made(case: Case) -> None:
    user = get_user_model().objects.create_user(username="ada", password="x")
    Membership.objects.create(user=user, role="clerk", program=Program.objects.get())
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    where = f"/p/flats/premises/{case.premises.pk}/evidence/"
    assert "4" in client.get(where).content.decode()
    answer = client.post(where, {"obligation": ""})
    assert checked(answer.content).faults == []
    kept = Change.objects.get(what="evidence")
    assert kept.after["sha256"] == hashlib.sha256(answer.content).hexdigest()
    assert client.post(where, {"obligation": "999999"}).status_code == 404
