"""The owner's page: read-only, in two languages, behind a secret link or a code with ten tries."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from notices.actions.day import run_day
from notices.links import token_of
from notices.models import Letter
from notices.owner.tries import MOST_TRIES, WAIT, Opened, try_code
from registry.models import PremisesParty, Program
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 1, 5, 20, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)


@pytest.fixture
def letter() -> Letter:
    program = office()
    place = premises(program, of=owner(program, 'A <B & C"'))
    assembly(place, "S1", facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOW)
    return Letter.objects.get()


def address(letter: Letter) -> str:
    return f"/o/{token_of(program_code=letter.program.code, number=letter.number)}"


def test_the_link_shows_what_is_due_why_and_the_letters_sent(letter: Letter) -> None:
    page = Client().get(address(letter))
    text = re.sub(r"\s+", " ", page.content.decode()).replace("\u00a0", " ")
    assert page.status_code == 200
    assert "A backflow test at 230 Larch Court is overdue." in text
    assert "Overdue by 35 days" in text  # December 1 to January 5
    assert "It last passed on December 1, 2024. The next test was set for December 1, 2025" in text
    assert "Teaching rulebook plain-rolling, rule 3" in text
    assert "First overdue notice" in text
    assert letter.number in text


def test_it_speaks_spanish_on_request(letter: Letter) -> None:
    text = Client().get(f"{address(letter)}?lang=es").content.decode()
    assert '<html lang="es">' in text
    assert "Una prueba de contraflujo en 230 Larch Court está vencida." in text
    assert "Cartas enviadas" in text
    assert "What to do" not in text


def test_every_word_of_the_page_has_a_spanish_twin(letter: Letter) -> None:
    text = Client().get(f"{address(letter)}?lang=es").content.decode()
    body = re.sub(r"<[^>]+>", " ", text)
    assert not re.search(r"\b(the|test|water|Letter|sent|overdue|due|serial)\b", body)


def test_looking_changes_nothing_however_often(letter: Letter) -> None:
    client = Client()
    before = Letter.objects.values().get()
    with CaptureQueriesContext(
        connection,
    ) as queries:
        for _ in range(20):
            client.get(address(letter))
            client.get("/o/")
    assert Letter.objects.values().get() == before
    written = [q["sql"] for q in queries if not q["sql"].lstrip().upper().startswith("SELECT")]
    assert written == []


def test_the_secret_link_stays_out_of_referrers_caches_and_indexes(letter: Letter) -> None:
    page = Client().get(address(letter))
    assert page["Referrer-Policy"] == "no-referrer"
    assert "no-store" in page["Cache-Control"]
    assert "noindex" in page["X-Robots-Tag"]


@pytest.mark.parametrize("token", ["x", "A" * 22, "0" * 64])
def test_a_token_of_no_letter_is_not_found(letter: Letter, token: str) -> None:
    assert Client().get(f"/o/{token}").status_code == 404
    assert Client().get(f"/o/{letter.token_hash}").status_code == 404


def test_a_former_owner_no_longer_sees_what_is_due(letter: Letter) -> None:
    program = letter.program
    PremisesParty.objects.update(until_on=START)
    PremisesParty.objects.create(
        premises=letter.carried.get().notice.premises,
        party=owner(program, "New Owner"),
        role="owner",
        since_on=START,
    )
    text = Client().get(address(letter)).content.decode()
    assert "S1" not in text
    assert "No test is asked for at the moment." in text


def test_code_and_zip_lead_to_the_page(letter: Letter) -> None:
    code = f"{letter.short_code[:3]} {letter.short_code[3:6]}-{letter.short_code[6:].lower()}"
    answer = Client().post("/o/", {"code": code, "zip": "99171-0001"})
    assert answer.status_code == 303
    assert answer["Location"] == address(letter)


def test_a_wrong_code_and_a_wrong_zip_get_the_same_answer(letter: Letter) -> None:
    def told(code: str, zip_code: str) -> str:
        body = Client().post("/o/", {"code": code, "zip": zip_code}).content.decode()
        return re.sub(r'value="[^"]+"', "", body)

    assert told("AAA AAA AAA", "99171") == told(letter.short_code, "00000")


def test_ten_wrong_tries_are_counted_in_the_row_and_then_it_rests(letter: Letter) -> None:
    for number in range(1, MOST_TRIES + 1):
        opened, _ = try_code(typed_code=letter.short_code, typed_zip="00000", at=NOW)
        assert opened is Opened.NO
        assert Letter.objects.get().code_tries == number
    right = {"typed_code": letter.short_code, "typed_zip": "99171"}
    assert try_code(**right, at=NOW) == (Opened.WAIT, None)
    assert try_code(**right, at=NOW + WAIT - timedelta(seconds=1)) == (Opened.WAIT, None)
    opened, found = try_code(**right, at=NOW + WAIT)
    assert (opened, found) == (Opened.YES, letter)
    assert Letter.objects.get().code_tries == 0


def test_a_resting_code_answers_429(letter: Letter) -> None:
    client = Client()
    wrong = {"code": letter.short_code, "zip": "1"}
    answers = [client.post("/o/", wrong).status_code for _ in range(MOST_TRIES + 1)]
    assert answers == [200] * MOST_TRIES + [429]


def test_a_letter_without_a_mailing_zip_is_not_opened_by_a_blank_one(letter: Letter) -> None:
    Letter.objects.update(mailing_zip="")
    opened, _ = try_code(typed_code=letter.short_code, typed_zip="", at=NOW)
    assert opened is Opened.NO


def test_the_form_is_refused_without_its_token(letter: Letter) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post("/o/", {"code": letter.short_code, "zip": "99171"}).status_code == 403


def test_names_from_data_are_escaped(letter: Letter) -> None:
    place = letter.carried.get().notice.premises
    place.address = '<script>alert("x")</script>'
    place.save()
    text = Client().get(address(letter)).content.decode()
    assert "<script>alert" not in text
    assert "&lt;script&gt;" in text


def test_a_live_programs_page_counts_from_today_in_its_zone() -> None:
    program = office("live", is_trial=False, go_live_on=START)
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOW)
    page = Client().get(address(Letter.objects.get(program=program)))
    assert Program.objects.get(code="live").is_trial is False
    assert re.search(r"Overdue by [\d,]+ days", page.content.decode())


def test_an_office_without_contacts_names_its_letterhead_instead_of_nothing(letter: Letter) -> None:
    Program.objects.update(letterhead={"name": "Tamarack Flats"})
    english = Client().get(address(letter)).content.decode()
    assert "Write to the address at the head of your letter." in english
    assert "Call or write to us:" not in english
    Program.objects.update(letterhead={"name": "Tamarack Flats", "email": "flats@example.org"})
    english = Client().get(address(letter)).content.decode()
    assert re.search(r"Call or write to us: <a href=\"mailto:flats@example.org\">", english)
    Program.objects.update(letterhead={"name": "Tamarack Flats"})
    spanish = Client().get(f"{address(letter)}?lang=es").content.decode()
    assert "Escriba a la dirección que figura al comienzo de su carta." in spanish
