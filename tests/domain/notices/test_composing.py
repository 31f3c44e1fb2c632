"""What letters say: by when, what follows, and never more than the ladder states."""

from __future__ import annotations

import gettext
import json
import re
from datetime import date

import pytest

from notices.catalogues import words_in
from notices.domain.composing import compose
from notices.domain.content import LetterContent, content_from_plain
from notices.domain.kinds import FireLine, LetterKind
from notices.domain.long_dates import long_date
from notices.domain.wording import size_words
from tests.domain.notices.letters import ITEM, LADDER, brief, item

ENGLISH = gettext.NullTranslations()


def letter(kind: str, *items: object, **changes: object) -> LetterContent:
    return compose(brief(kind, *items, **changes), words=ENGLISH)  # type: ignore[arg-type]


def said(content: LetterContent) -> str:
    """All the sentences of a letter, no-break spaces as blanks."""
    return json.dumps(content.to_plain(), ensure_ascii=False).replace("\u00a0", " ")


def follows(content: LetterContent) -> str:
    return " ".join(
        text
        for section in content.sections
        if section.heading == "What happens next"
        for text in section.paragraphs
    ).replace("\u00a0", " ")


def test_an_overdue_letter_asks_for_the_test_before_the_next_rung_may_leave() -> None:
    # Left November 3; the second notice at least 14 days later, the leaving day not counted.
    content = letter("first-overdue", ITEM, item(serial="C4-77120"))
    assert content.headline[0] == "Two backflow tests at 230 Larch Court are overdue."
    assert content.headline[1].replace("\u00a0", " ") == "Have them done by November 17, 2025."


@pytest.mark.parametrize(
    ("kind", "by"),
    [
        ("second-overdue", "November 18, 2025"),  # 3 + 15
        ("final", "November 13, 2025"),  # 3 + 10
    ],
)
def test_later_overdue_letters_count_from_their_own_leaving(kind: str, by: str) -> None:
    assert by in letter(kind).headline[1].replace("\u00a0", " ")


def test_before_the_due_date_the_due_date_is_asked_for() -> None:
    content = letter("reminder", item(due_on=date(2025, 12, 18)))
    assert "December 18, 2025" in content.headline[1].replace("\u00a0", " ")


def test_different_due_dates_name_the_first() -> None:
    content = letter(
        "reminder", item(due_on=date(2025, 12, 18)), item(due_on=date(2025, 12, 9), serial="B")
    )
    assert content.headline[1].replace("\u00a0", " ").endswith("the first by December 9, 2025.")


def test_a_notice_that_may_not_be_skipped_asks_for_now_when_its_day_is_past() -> None:
    # Installed in July, test owed 10 days later, the office's first run in November.
    content = letter("test-owed", item(due_on=date(2025, 7, 25), last_passed_on=None))
    assert content.headline[1] == "Have it done now."
    assert follows(content).startswith("Without a passing test in our record, a first overdue")
    assert "July 25, 2025" in said(content)


def test_a_failed_test_is_to_be_cured_by_the_rulebooks_day() -> None:
    failed = item(failed_on=date(2025, 11, 3), cure_by=date(2025, 11, 24))
    content = letter("repair", failed)
    assert content.headline[0] == "A backflow assembly at 230 Larch Court failed its test."
    assert "November 24, 2025" in content.headline[1].replace("\u00a0", " ")
    assert content.table.groups[0].rows[0].cells[4] == ("Failed",)


@pytest.mark.parametrize("kind", ["test-owed", "reminder", "second-reminder", "repair"])
def test_a_letter_before_the_overdue_ladder_threatens_nothing(kind: str) -> None:
    content = letter(kind, item(failed_on=date(2025, 11, 2), cure_by=date(2025, 11, 23)))
    assert "shut off" not in said(content)
    assert "first overdue notice follows" in follows(content)


def test_an_overdue_letter_names_the_later_rungs_with_their_days_and_source() -> None:
    text = follows(letter("first-overdue"))
    assert "a second overdue notice follows" in text
    assert "At least 15 days later a final notice follows by certified mail." in text
    assert "At least 10 days after that an order to shut off water may be prepared." in text
    assert "A person at this office must sign it first" in text
    assert text.endswith("(Flats Code 13.20.070).")


def test_a_ladder_without_an_order_never_speaks_of_one() -> None:
    ahead = tuple(step for step in LADDER[5:] if step.kind != "shutoff-order")
    assert "shut off" not in said(letter("first-overdue", ahead=ahead))


def test_a_dedicated_fire_line_is_not_threatened_with_a_shutoff() -> None:
    text = said(letter("final", item(fire=FireLine.DEDICATED, service="fire")))
    assert "order to shut off" not in text
    assert "A dedicated fire line is not shut off under this program" in text


def test_a_final_notice_says_how_and_by_when_to_be_heard_and_who_corrects_errors() -> None:
    # Memphis Light v. Craft (1978), syllabus: notice, who may correct, how to be heard.
    text = said(letter("final"))
    assert "You may ask to be heard" in text
    assert "before November 13, 2025: (555) 010-0142 or backflow@tamarackflats.example" in text
    assert "We can correct an error in the record." in text
    assert "certified mail" in text


@pytest.mark.parametrize("kind", ["final", "turn-off"])
def test_a_last_notice_asks_for_nothing_by_the_day_on_which_water_may_go_off(kind: str) -> None:
    # "By" a day takes that day in; water may be off on it.
    text = said(letter(kind))
    assert "Have it done before November 13, 2025." in text
    assert "If no passing test is in our record before November 13, 2025," in text
    assert "Water may be shut off from November 13, 2025 on, and not before." in text
    assert " by November 13" not in text


def test_hazard_nobody_assessed_is_printed_so_and_never_as_high() -> None:
    text = said(letter("first-overdue", item(hazard="not assessed")))
    assert "hazard not yet assessed" in text
    assert "high" not in text


def test_cautions_appear_where_they_apply() -> None:
    plain = " ".join(letter("reminder").cautions)
    assert "decide how the work is done" in plain
    assert "Fire line" not in plain
    assert "1910.146" not in plain
    every = item(fire=FireLine.COMBINED, in_vault=True, has_tenants=True, has_medical_supply=True)
    told = " ".join(letter("reminder", every).cautions)
    assert "fire department, the alarm company and the insurer" in told
    assert "29 CFR 1910.146" in told
    assert "medical reasons" in told
    assert "people who live or work there" in told


def test_assemblies_are_grouped_by_premises_only_where_there_are_several() -> None:
    one = letter("reminder", ITEM, item(serial="B"))
    assert [group.title for group in one.table.groups] == [""]
    two = letter("reminder", ITEM, item(serial="B", premises_key="2", premises="9 Elm Street"))
    assert [group.title for group in two.table.groups] == ["230 Larch Court", "9 Elm Street"]
    assert "2 premises" in two.headline[0]


def test_a_serial_of_ours_says_so() -> None:
    cells = letter("reminder", item(serial_is_ours=True)).table.groups[0].rows[0].cells
    assert cells[0][1] == "our number F2-00917"


def test_the_reference_block_names_date_notice_number_and_code() -> None:
    content = letter("second-overdue")
    assert [pair.label for pair in content.reference] == [
        "Date",
        "Notice",
        "Reference",
        "Short code",
    ]
    assert re.fullmatch(r"[0-9A-HJKMNP-TV-Z]{3}( [0-9A-HJKMNP-TV-Z]{3}){2}", content.link.code)


@pytest.mark.parametrize("kind", list(LetterKind))
def test_every_kind_survives_a_trip_through_json(kind: LetterKind) -> None:
    content = letter(kind, item(failed_on=date(2025, 11, 2), cure_by=date(2025, 11, 3)))
    assert content_from_plain(json.loads(json.dumps(content.to_plain()))) == content


@pytest.mark.parametrize("kind", list(LetterKind))
@pytest.mark.parametrize("several", [False, True])
def test_every_headline_has_a_spanish_twin(kind: LetterKind, *, several: bool) -> None:
    items = (ITEM, item(serial="B")) if several else (ITEM,)
    spanish = compose(
        brief(kind, *items, second_language="es"), words=ENGLISH, second_words=words_in("es")
    ).second_headline
    assert spanish
    assert not re.search(r"\b(backflow|test|tests|water|Have|Call|due)\b", spanish)


@pytest.mark.parametrize("kind", list(LetterKind))
def test_sentences_are_short_and_plain(kind: LetterKind) -> None:
    content = letter(kind, ITEM, item(serial="B", fire=FireLine.DEDICATED, in_vault=True))
    prose = [
        *content.headline,
        *content.paragraphs,
        *content.steps,
        *(text for section in content.sections for text in section.paragraphs),
        *content.cautions,
    ]
    for sentence in re.split(r"(?<=[.;:?])\s", " ".join(prose)):
        assert len(sentence.split()) <= 25, sentence
        assert not re.search(r"\b(shall|pursuant|hereby|aforementioned)\b", sentence)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("0.75", "\u00be in"),
        ("1", "1 in"),
        ("1.5", "1\u00bd in"),
        ("10", "10 in"),
        ("0.7", "0.7 in"),
    ],
)
def test_sizes_are_written_as_the_trade_writes_them(size: str, words: str) -> None:
    from decimal import Decimal

    assert size_words(Decimal(size)).replace("\u00a0", " ") == words


def test_dates_are_in_full_in_both_languages() -> None:
    day = date(2025, 9, 4)
    assert long_date(day).replace("\u00a0", " ") == "September 4, 2025"
    assert long_date(day, language="es").replace("\u00a0", " ") == "4 de septiembre de 2025"
