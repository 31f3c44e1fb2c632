"""What a last notice must say, over every ladder of every rulebook, in either language.

Memphis Light, Gas & Water Division v. Craft, 436 U.S. 1 (1978), syllabus: a notice before water,
gas or light goes off tells that a procedure is there to protest, how, and whom to reach.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from notices.catalogues import words_in
from notices.domain.briefs import Brief, Hearing
from notices.domain.composing import compose
from notices.domain.content import LetterContent
from notices.domain.kinds import FINAL_KINDS, LetterKind, Work
from notices.domain.long_dates import long_date
from notices.domain.outlook import order_day
from tests.domain.notices.every_letter import LANGUAGES
from tests.domain.notices.letters import SENDER, brief
from tests.domain.notices.test_threats import BOOKS, letters_of, paragraphs_of

SAID = {
    "en": {
        "the day": "Water may be shut off from",
        "to be heard": "You may ask to be heard, in person or in writing,",
        "errors": "We can correct an error in the record.",
        "water back": "If water is shut off, a passing test in our record brings it back: call us.",
        "a person": "must sign it first",
    },
    "es": {
        "the day": "El agua puede cortarse a partir del",
        "to be heard": "Puede pedir que se le escuche, en persona o por escrito,",
        "errors": "Podemos corregir un error en el registro.",
        "water back": "Si se corta el agua, una prueba aprobada en nuestro registro la hace volver",
        "a person": "Antes debe firmarla una persona",
    },
}


def last_notices(path: Path, language: str) -> Iterator[tuple[Brief, str]]:
    """Yield each last notice that an order may follow, with all it says.

    The days are those of the gaps; a rung that counts from elsewhere comes ten days later.
    """
    for one, _ in letters_of(path, language):
        orders = [step for step in one.ahead if step.kind == LetterKind.SHUTOFF_ORDER]
        if one.kind not in FINAL_KINDS or one.work is not Work.TEST or not orders:
            continue
        ahead, on = [], one.leaves_on
        for step in one.ahead:
            on += timedelta(days=step.gap_days or 10)
            ahead.append(replace(step, on=on))
        told = replace(one, ahead=tuple(ahead))
        yield told, said(compose(told, words=words_in(language)))


def said(content: LetterContent) -> str:
    return " ".join(paragraphs_of(content)).replace("\u00a0", " ")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("path", BOOKS, ids=[path.stem for path in BOOKS])
def test_it_says_the_day_who_corrects_how_to_be_heard_and_how_water_comes_back(
    path: Path, language: str
) -> None:
    for one, text in last_notices(path, language):
        missing = [name for name, words in SAID[language].items() if words not in text]
        assert missing == [], text
        assert SENDER.phone in text
        assert SENDER.email in text
        day = order_day(one)
        assert day is not None
        if language == "en":
            assert f"shut off from {plain(day)} on, and not before" in text
            assert f"before {plain(day)}:" in text


def plain(day: date) -> str:
    return long_date(day).replace("\u00a0", " ")


def test_last_notices_are_among_those_read() -> None:
    found = sum(1 for path in BOOKS for _ in last_notices(path, "en"))
    assert found > 10


def test_with_a_rule_of_hearings_its_words_and_its_last_day_stand_in_it() -> None:
    rule = Hearing(words="Write to the chair", citation="Flats Code 9", by=date(2025, 11, 12))
    told = said(compose(replace(brief("final"), hearing=rule), words=words_in("en")))
    assert "until the end of November 12, 2025: (555) 010-0142" in told
    assert "Write to the chair (Flats Code 9)." in told
    # Counted from a receipt that nobody knows yet (as Ennis TX 18-97 does), it is the least.
    told = said(
        compose(replace(brief("final"), hearing=replace(rule, is_least=True)), words=words_in("en"))
    )
    assert "at least until the end of November 12, 2025" in told
