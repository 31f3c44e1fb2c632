"""What the letters that answer say, and what they must not say."""

from __future__ import annotations

import pytest

from notices.catalogues import words_in
from notices.domain.answers import Error, Outcome, correction, decision, report_not_counted
from notices.domain.in_hand import ReportLacks
from notices.domain.reports_in_hand import why_sentences
from tests.domain.notices.answer_letters import AWKWARD, WRONG, decided, report, texts
from tests.domain.notices.letters import ITEM, SENDER

EN, ES = words_in("en"), words_in("es")


def test_a_correction_names_the_letter_and_that_it_counts_for_nothing() -> None:
    told = correction(
        WRONG[Error.PASSED], items=[ITEM], open_ones=frozenset(), sender=SENDER, words=EN
    )
    said = " ".join([*told.headline, *told.paragraphs, *told.sections[0].paragraphs])
    assert "First overdue notice, reference 25-1103-0417" in said
    assert "It counts for nothing" in said
    assert "Nothing follows from the earlier letter." in said
    assert told.table.groups[0].rows[0].cells[-1] == ("Nothing owed",)


def test_a_decision_keeps_the_words_of_the_person_who_decided() -> None:
    told = decision(
        decided(Outcome.REJECTED), items=[ITEM], open_ones=frozenset(), sender=SENDER, words=EN
    )
    said = " ".join([*told.headline, *told.paragraphs])
    assert AWKWARD in said
    assert "J. Example, program manager decided on" in said
    assert "Our notices stand." in said
    assert "not counted against you" in told.sections[0].paragraphs[0]


@pytest.mark.parametrize("lack", list(ReportLacks))
def test_every_reason_comes_with_its_mend(lack: ReportLacks) -> None:
    (english,), (spanish,) = (why_sentences([lack], words=words) for words in (EN, ES))
    assert english.count(".") >= 2
    assert english != spanish


def test_a_report_that_does_not_count_is_never_called_missing() -> None:
    told = report_not_counted(report(ReportLacks.GAUGE), item=ITEM, sender=SENDER, words=EN)
    said = " ".join([*told.headline, *told.paragraphs, *told.steps])
    assert "We have the report" in said
    assert "no report" not in said
    assert "nothing" not in said


@pytest.mark.parametrize("name", [name for name, _, _ in texts()])
def test_no_answer_speaks_of_an_order_or_a_shutoff(name: str) -> None:
    (text_in,) = (text for named, _, text in texts() if named == name)
    said = str(text_in(EN)).lower()
    assert "shut" not in said
    assert "order" not in said
