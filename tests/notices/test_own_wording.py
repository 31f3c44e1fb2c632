"""An office words its own letters: drafted, refused, put in force, restored; each kept."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from urllib.parse import urlencode

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from notices.actions.day import run_day
from notices.actions.own_wording import (
    WordingRefusedError,
    drop_draft,
    keep_draft,
    put_in_force,
    restore,
    use_built_in,
)
from notices.domain.kinds import LetterKind, Work
from notices.models import Letter, Wording
from notices.queries.sample_briefs import cases_for
from notices.queries.wordings import WordingKey, versions_of
from registry.changes import Hand
from registry.console import Refused
from registry.models import Change, Membership, Program
from scheduling.models import Obligation
from tests.notices.offices import assembly, office, owner, premises

pytestmark = pytest.mark.django_db

KEY = WordingKey(work=Work.TEST, kind=LetterKind.FIRST_OVERDUE, language="en")
HAND = Hand(by="A Clerk", at=datetime(2026, 1, 6, 12, tzinfo=UTC))
OTHER = Hand(by="The Head", at=datetime(2026, 1, 7, 12, tzinfo=UTC))
OWN = {"opening": "{office} keeps watch over {place}.", "closing": "Thank you, {recipient}."}


def program_with_one_overdue(**changes: Any) -> Program:
    program = office(**changes)
    place = premises(program, of=owner(program))
    assembly(place, facts=[("passed", date(2024, 6, 1))])
    return program


def run(program: Program, day: date) -> None:
    run_day(program=program, as_of=day, now=datetime(day.year, day.month, day.day, 9, tzinfo=UTC))


def administrator(client: Client, program: Program) -> Client:
    user = User.objects.create_user("head", first_name="The", last_name="Head")
    Membership.objects.create(user=user, role="administrator", program=program)
    client.force_login(user)
    return client


def page(program: Program, name: str = "wording", key: WordingKey = KEY) -> str:
    return reverse(name, args=[program.code, key.work, key.kind, key.language])


def test_a_draft_changes_no_letter_until_a_named_person_puts_it_in_force() -> None:
    program = program_with_one_overdue()
    draft = keep_draft(program, key=KEY, texts=OWN, hand=HAND)
    run(program, date(2026, 1, 6))
    (before,) = Letter.objects.all()
    assert before.content["wording"] == 0
    kept = before.content
    put_in_force(program, key=KEY, number=draft.number, hand=OTHER)
    place = premises(program, 9, of=owner(program, "Weir Lane"))
    assembly(place, "S2", facts=[("passed", date(2024, 6, 1))])
    run(program, date(2026, 1, 7))
    after = Letter.objects.exclude(pk=before.pk).get()
    assert after.content["wording"] == draft.number == 1
    assert after.content["paragraphs"][0].startswith(
        "Tamarack Flats Water District keeps watch over 9 Larch Court."
    )
    assert after.content["closing"] == "Thank you, Weir Lane."
    before.refresh_from_db()
    assert before.content == kept
    row = Wording.objects.get()
    assert (row.made_by, row.in_force_by) == ("A Clerk", "The Head")
    assert set(Change.objects.filter(what="wording").values_list("by", flat=True)) == {
        "A Clerk",
        "The Head",
    }


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Dear {owner},", "There is no field \u201c{owner}\u201d"),
        ("Mail us at {email}.", "has no value here"),
        ("We will disconnect you.", "speaks of a consequence"),
        ("You shall call.", "is not plain"),
        ("Many words. " * 60, "at most 700"),
    ],
)
def test_what_cannot_stand_is_refused_and_nothing_is_written(text: str, told: str) -> None:
    program = office()
    with pytest.raises(WordingRefusedError, match=r".") as refused:
        keep_draft(program, key=KEY, texts={"closing": text}, hand=HAND)
    assert told in str(refused.value)
    assert not Wording.objects.exists()


def test_versions_keep_who_and_when_and_a_number_is_never_used_again() -> None:
    program = office()
    first = keep_draft(program, key=KEY, texts={"closing": "One."}, hand=HAND)
    assert keep_draft(program, key=KEY, texts={"closing": "One, mended."}, hand=HAND).pk == first.pk
    put_in_force(program, key=KEY, number=1, hand=OTHER)
    keep_draft(program, key=KEY, texts={"closing": "Two."}, hand=HAND)
    assert drop_draft(program, key=KEY, hand=OTHER)
    keep_draft(program, key=KEY, texts={"closing": "Three."}, hand=HAND)
    put_in_force(program, key=KEY, number=3, hand=OTHER)
    again = restore(program, key=KEY, number=1, hand=HAND)
    assert (again.number, again.taken_from, again.texts["closing"]) == (4, 1, "One, mended.")
    states = {row.number: row.state for row in versions_of(program, key=KEY)}
    assert states == {1: "earlier", 2: "dropped", 3: "in force", 4: "draft"}
    assert use_built_in(program, key=KEY, hand=OTHER)
    assert not use_built_in(program, key=KEY, hand=OTHER)
    earlier = Wording.objects.get(number=3)
    assert (earlier.state, earlier.ended_by) == ("earlier", "The Head")


def test_a_draft_is_put_in_force_once() -> None:
    program = office()
    keep_draft(program, key=KEY, texts=OWN, hand=HAND)
    put_in_force(program, key=KEY, number=1, hand=OTHER)
    with pytest.raises(Refused, match="no draft any more"):
        put_in_force(program, key=KEY, number=1, hand=OTHER)


def test_another_program_and_another_kind_keep_their_own_words() -> None:
    program, other = program_with_one_overdue(), program_with_one_overdue(code="hills")
    keep_draft(other, key=KEY, texts=OWN, hand=HAND)
    put_in_force(other, key=KEY, number=1, hand=HAND)
    spanish = WordingKey(work=Work.TEST, kind=LetterKind.FIRST_OVERDUE, language="es")
    keep_draft(program, key=spanish, texts={"closing": "Gracias."}, hand=HAND)
    put_in_force(program, key=spanish, number=1, hand=HAND)
    run(program, date(2026, 1, 6))
    assert Letter.objects.get(program=program).content["wording"] == 0


def test_a_letter_in_both_languages_keeps_the_number_of_either() -> None:
    program = program_with_one_overdue(languages="en,es")
    program.letterhead = {**program.letterhead, "language_way": "whole"}
    program.save()
    spanish = WordingKey(work=Work.TEST, kind=LetterKind.FIRST_OVERDUE, language="es")
    keep_draft(program, key=spanish, texts={"closing": "Gracias, {recipient}."}, hand=HAND)
    put_in_force(program, key=spanish, number=1, hand=HAND)
    run(program, date(2026, 1, 6))
    content = Letter.objects.get().content
    assert (content["wording"], content["other"]["wording"]) == (0, 1)
    assert content["other"]["closing"] == "Gracias, Larch Court Apartments."
    assert "La carta completa sigue en espa\u00f1ol." in content["second_headline"]


def test_a_recipients_own_language_comes_first_where_the_program_says_so() -> None:
    program = office()
    program.letterhead = {**program.letterhead, "language_way": "own"}
    program.save()
    place = premises(program, of=owner(program, language="es"))
    assembly(place, facts=[("passed", date(2024, 6, 1))])
    run(program, date(2026, 1, 6))
    letter = Letter.objects.get()
    assert letter.language == letter.content["language"] == "es"
    assert "prueba de contraflujo" in letter.content["headline"][0]
    assert letter.content["second_language"] == "en"
    assert "backflow test" in letter.content["second_headline"]
    assert letter.content["other"] is None


def test_the_editor_refuses_with_the_field_and_keeps_what_was_typed(client: Client) -> None:
    program = program_with_one_overdue()
    mine = administrator(client, program)
    answer = mine.post(page(program), {"act": "keep", "closing": "Dear {owner}, <b>hello</b>."})
    assert answer.status_code == 422
    told = answer.content.decode()
    assert "There is no field \u201c{owner}\u201d. There are: {place}" in told
    assert "&lt;b&gt;hello&lt;/b&gt;" in told
    assert not Wording.objects.exists()


def test_what_was_typed_is_kept_and_looked_at_in_one_step(client: Client) -> None:
    program = program_with_one_overdue()
    mine = administrator(client, program)
    run(program, date(2026, 1, 6))
    told = [("act", "keep"), ("act", "look"), ("closing", "Thank you, {recipient}.")]
    body = urlencode(told)
    form = "application/x-www-form-urlencoded"
    answer = mine.post(page(program), body, content_type=form, follow=True)
    assert answer.redirect_chain[-1][0].endswith("?wording=1")
    shown = answer.content.decode()
    assert "With wording 1 (draft)" in shown
    assert "Thank you, Larch Court Apartments." in shown.replace("\u00a0", " ")


def test_the_editor_warns_of_a_long_sentence_and_of_a_letter_no_face_draws(client: Client) -> None:
    program = program_with_one_overdue()
    mine = administrator(client, program)
    long = " ".join(["word"] * 27) + "."
    answer = mine.post(page(program), {"act": "keep", "closing": f"{long} \u6f22."}, follow=True)
    told = answer.content.decode()
    assert "Draft 1 is kept" in told
    assert "27 words in one sentence" in told
    assert "cjk unified ideograph-6f22" in told


def test_drafting_forcing_and_restoring_by_the_page(client: Client) -> None:
    program = program_with_one_overdue()
    mine = administrator(client, program)
    mine.post(page(program), {"act": "keep", **OWN})
    mine.post(page(program), {"act": "force", "number": "1"})
    assert Wording.objects.get().in_force_by == "The Head"
    mine.post(page(program), {"act": "restore", "number": "1"})
    mine.post(page(program), {"act": "drop"})
    mine.post(page(program), {"act": "built-in"})
    assert {row.number: row.state for row in Wording.objects.all()} == {1: "earlier", 2: "dropped"}
    listed = mine.get(reverse("wordings", args=[program.code])).content.decode()
    assert "Built-in words" in listed


def test_a_preview_shows_a_real_case_and_writes_nothing(client: Client) -> None:
    program = program_with_one_overdue()
    run(program, date(2026, 1, 6))
    mine = administrator(client, program)
    mine.post(page(program), {"act": "keep", **OWN})
    letters = Letter.objects.count()
    shown = mine.get(page(program, "wording-preview") + "?wording=1").content.decode()
    assert "keeps watch over 230 Larch Court." in shown
    assert "Thank you, Larch Court Apartments." in shown
    pdf = mine.get(page(program, "wording-preview-pdf") + "?wording=1")
    assert pdf.content.startswith(b"%PDF")
    assert Letter.objects.count() == letters
    built_in = mine.get(page(program, "wording-preview") + "?wording=0").content.decode()
    assert "keeps used water at 230 Larch Court out" in built_in
    assert mine.get(page(program, "wording-preview") + "?wording=7").status_code == 404


def test_a_case_with_a_later_day_by_now_is_no_example_of_being_overdue(client: Client) -> None:
    program = program_with_one_overdue()
    place = premises(program, 9, of=owner(program, "Weir Lane"))
    failed = assembly(place, "S2", facts=[("passed", date(2024, 6, 1))])
    run(program, date(2026, 1, 6))

    def cases() -> list[str]:
        found = cases_for(program, work=KEY.work, kind=KEY.kind, today=date(2026, 1, 8))
        return [one.words[:2] for one in found]

    assert cases() == ["S2", "S1"]
    Obligation.objects.filter(assembly=failed, closed_on=None).update(cure_by=date(2026, 2, 6))
    assert cases() == ["S1", "S2"]
    shown = administrator(client, program).get(page(program, "wording-preview")).content.decode()
    assert "<b>S1, " in shown  # the case looked at is marked in the list
    assert shown.count('<td class="whole" data-head="Was due">') == 1


def test_the_letters_page_names_its_wording(client: Client) -> None:
    program = program_with_one_overdue()
    keep_draft(program, key=KEY, texts=OWN, hand=HAND)
    put_in_force(program, key=KEY, number=1, hand=HAND)
    run(program, date(2026, 1, 6))
    mine = administrator(client, program)
    shown = mine.get(reverse("letter", args=[program.code, Letter.objects.get().pk]))
    assert "<dt>Wording</dt>" in shown.content.decode()
    assert "?wording=1" in shown.content.decode()
    assert "Thank you, Larch Court Apartments." in shown.content.decode()
