"""An office's own words: fields of a closed list, nothing of consequences, printed as typed."""

from __future__ import annotations

import pytest

from notices.catalogues import words_in
from notices.domain.composing import compose, field_values
from notices.domain.content import prose_of
from notices.domain.own_words import FIELD_NAMES, OwnWords, Part, faults, fill, threats_in
from tests.domain.notices.every_letter import briefs
from tests.domain.notices.letters import ITEM, brief, item

OWN = OwnWords(
    number=3,
    opening="Thank you for having {count} assemblies at {place} tested each year.",
    explanation="{recipient}: <b>bold</b> & braces stay as typed.",
    closing="{office}, {phone}",
)


def test_a_field_that_does_not_exist_is_named_with_those_that_do() -> None:
    (told,) = faults("Dear {owner}, {place} is due.", language="en")
    assert "\u201c{owner}\u201d" in told
    assert all("{" + name + "}" in told for name in FIELD_NAMES)
    assert faults("At {place}: {due}.", language="en") == ()


@pytest.mark.parametrize("text", ["At {place", "At place}", "{{place}}", "{}"])
def test_a_brace_that_is_no_field_is_refused(text: str) -> None:
    assert faults(text, language="en")


def test_a_field_without_a_value_here_says_where_to_set_it() -> None:
    (told,) = faults("Call {phone}.", language="en", empty={"phone": "set it in Settings"})
    assert told == "The field \u201c{phone}\u201d has no value here: set it in Settings."


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("We may shut off your water.", "en"),
        ("A penalty of 50 dollars applies.", "en"),
        ("Your service will be disconnected.", "en"),
        ("You shall test it.", "en"),
        ("Se hará un corte de agua.", "es"),
        ("Hay una multa de 50 dólares.", "es"),
        ("Su servicio será suspendido y habrá recargos.", "es"),
    ],
)
def test_words_of_a_consequence_or_of_officialese_are_refused(text: str, language: str) -> None:
    assert faults(text, language=language)


def test_plain_words_are_taken() -> None:
    plain = "Have the water shut for 20 minutes. It keeps the water fine for all of us? Call us."
    assert threats_in(plain.replace("fine", "good"), language="en") == ()
    assert faults("Cierre el agua 20 minutos. Gracias.", language="es") == ()


def test_what_a_value_holds_is_never_a_field() -> None:
    assert fill("At {place}.", values={"place": "{phone} St", "phone": "1"}) == "At {phone} St."


def test_own_words_stand_beside_what_the_law_needs_and_never_in_its_place() -> None:
    for _name, one in briefs():
        plain = compose(one, words=words_in("en"))
        mine = compose(one, words=words_in("en"), own=OWN)
        for field in ("headline", "table", "steps", "sections", "cautions", "letterhead"):
            assert getattr(mine, field) == getattr(plain, field)
        law = plain.paragraphs[0].split(". ", 1)[1]
        assert mine.paragraphs[0].endswith(law)
        assert (plain.wording, mine.wording) == (0, 3)


def test_every_part_is_in_the_letter_with_its_fields_filled() -> None:
    content = compose(brief("reminder", ITEM, item(serial="B")), words=words_in("en"), own=OWN)
    told = " ".join(prose_of(content))
    assert "Thank you for having 2 assemblies at 230 Larch Court tested each year." in told
    assert "Larch Court Apartments: <b>bold</b> & braces stay as typed." in told
    assert content.closing == "Tamarack Flats Water District, (555) 010-0142"
    assert {part.value for part in Part} == {"opening", "explanation", "closing"}


def test_every_field_of_the_list_has_a_value_in_every_letter() -> None:
    for _name, one in briefs():
        values = field_values(one, words=words_in("es"))
        assert set(values) == set(FIELD_NAMES)
        assert all(values.values())


def test_each_language_of_a_letter_keeps_its_own_wording() -> None:
    one = brief("final", second_language="es", is_second_whole=True)
    content = compose(
        one,
        words=words_in("en"),
        second_words=words_in("es"),
        own=OWN,
        second_own=OwnWords(number=5, closing="Gracias, {recipient}."),
    )
    assert content.other is not None
    assert (content.wording, content.other.wording) == (3, 5)
    assert content.other.closing == "Gracias, Larch Court Apartments."
    assert "Este dispositivo impide" in content.other.paragraphs[0]


def test_a_field_that_is_nearly_one_is_told_with_the_one_meant() -> None:
    (said,) = faults("Call {Phon}.", language="en")
    assert "There is no field \u201c{Phon}\u201d. Did you mean {phone}? There are:" in said
    (said,) = faults("Dear {owner},", language="en")
    assert "Did you mean" not in said
