"""What a recipient says goes to a person: a question on Today, and the registry stays as it is."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.apps import apps
from django.test import Client

from notices.actions.day import run_day
from notices.domain.owner_says import MOST_A_DAY
from notices.links import token_of
from notices.models import Letter, OwnerWords
from registry.models import Question
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 1, 5, 20, tzinfo=UTC)
SAID_BY_IT = {"OwnerWords", "Question"}
"""The only rows that words from the page may make."""


@pytest.fixture
def letter() -> Letter:
    program = office()
    place = premises(program, of=owner(program, "Larch Court"))
    assembly(place, "S1", facts=(("passed", date(2024, 12, 1)),))
    run_day(program=program, as_of=START, now=NOW)
    return Letter.objects.get()


def address(letter: Letter) -> str:
    return f"/o/{token_of(program_code=letter.program.code, number=letter.number)}"


def say(letter: Letter, *, lang: str = "en", **told: str) -> Any:
    data = {"kind": "gone", "words": "It was taken out.", "reach": "555 0100", **told}
    return Client().post(f"{address(letter)}/say?lang={lang}", data)


def everything() -> dict[str, list[dict[str, Any]]]:
    """Every row of the office's tables but those the words make, to the last cell."""
    found = {}
    for label in ("registry", "scheduling", "notices", "reports"):
        for model in apps.get_app_config(label).get_models():
            if model.__name__ not in SAID_BY_IT:
                found[model.__name__] = list(model._default_manager.order_by("pk").values())
    return found


def test_words_ask_a_question_of_a_person_and_change_nothing_else(letter: Letter) -> None:
    before = everything()
    answer = say(letter)
    assert answer.status_code == 303
    assert everything() == before
    question = Question.objects.get(kind="words from an owner")
    assert letter.number in question.text
    assert "says that the assembly is gone" in question.text
    assert "It was taken out." in question.text
    assert "555 0100" in question.text
    assert question.premises is not None
    row = OwnerWords.objects.get()
    assert (row.kind, row.said_on, row.question) == ("gone", START, question)
    page = Client().get(answer["Location"].partition("#")[0]).content.decode()
    assert "A person of the office reads them." in page


def test_twenty_scanners_leave_every_row_as_it_was(letter: Letter) -> None:
    before = everything()
    client = Client()
    for _ in range(20):
        for where in (address(letter), f"{address(letter)}?lang=es", f"{address(letter)}?said=yes"):
            assert client.get(where).status_code == 200
        assert client.get(f"{address(letter)}/say").status_code == 405
    assert everything() == before
    assert (OwnerWords.objects.count(), Question.objects.count()) == (0, 0)


def test_more_than_a_few_a_day_are_sent_to_the_telephone(letter: Letter) -> None:
    for number in range(MOST_A_DAY):
        say(letter, words=f"Message {number}", key=f"k{number}")
    answer = say(letter, words="One more", key="more")
    assert "said=wait" in answer["Location"]
    assert OwnerWords.objects.count() == MOST_A_DAY


def test_the_same_form_sent_twice_is_one_message(letter: Letter) -> None:
    say(letter, key="same")
    say(letter, key="same")
    assert OwnerWords.objects.count() == Question.objects.count() == 1


def test_an_objection_without_words_asks_for_them(letter: Letter) -> None:
    answer = say(letter, kind="objection", words="  ")
    assert "said=empty" in answer["Location"]
    assert OwnerWords.objects.count() == 0


def test_what_is_typed_stays_text(letter: Letter) -> None:
    say(letter, kind="nonsense", words="A <B & C\x00", reach="x" * 900)
    row = OwnerWords.objects.get()
    assert (row.kind, row.words, len(row.reach)) == ("other", "A <B & C", 200)
    assert len(Question.objects.get().text) <= 500


def test_a_token_of_no_letter_says_nothing(letter: Letter) -> None:
    assert Client().post("/o/nobody/say", {"kind": "gone"}).status_code == 404


def test_it_needs_no_cookie_and_no_script(letter: Letter) -> None:
    answer = Client(enforce_csrf_checks=True).post(f"{address(letter)}/say", {"kind": "empty"})
    assert answer.status_code == 303


def test_the_page_shows_past_results_and_speaks_spanish(letter: Letter) -> None:
    english = Client().get(address(letter)).content.decode().replace("\u00a0", " ")
    assert "Past results" in english
    assert re.search(r"S1: passed<span class=\"small\">December 1, 2024", english)
    spanish = Client().get(f"{address(letter)}?lang=es").content.decode()
    assert "Resultados anteriores" in spanish
    assert "Objeto, o quiero que se me escuche" in spanish
    answer = say(letter, lang="es")
    assert "lang=es" in answer["Location"]
