"""Testing companies are written to about what lapses: once for each paper and day before it."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime

import pytest

from notices import tasks
from notices.domain.lapse_letters import LAPSED, rung_of
from notices.models import Delivery, Letter, LetterAbout
from registry import models as rows
from registry.changes import Hand
from registry.console import Refused
from reports.actions.lapse_letters import set_lapse_letters, write_all, write_lapse_letters
from reports.models import LapseLetters
from tests.reports.rounds.office import Office

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
AT = datetime(2026, 11, 25, 20, tzinfo=UTC)
HAND = Hand(by="Ada Birch", at=AT)


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        (date(2027, 4, 1), ""),  # 61 days left
        (date(2027, 4, 2), "60"),
        (date(2027, 5, 1), "60"),  # 31 days left
        (date(2027, 5, 2), "30"),
        (date(2027, 6, 1), "30"),  # the last day itself
        (date(2027, 6, 2), LAPSED),
        (date(2027, 7, 1), LAPSED),
        (date(2027, 7, 2), ""),
    ],
)
def test_the_nearest_day_before_that_has_come_is_owed(today: date, expected: str) -> None:
    # By hand: 1 June less 60 days is 2 April, less 30 days 2 May.
    last = date(2027, 6, 1)
    assert rung_of(last, today=today, before=[60, 30], is_told_after=True) == expected


def test_nothing_is_owed_after_the_last_day_where_the_program_does_not_say_so() -> None:
    last = date(2027, 6, 1)
    assert rung_of(last, today=date(2027, 6, 2), before=[60], is_told_after=False) == ""


@pytest.fixture
def office() -> Office:
    """Two companies, one with an e-mail address; certificates to December 10, 2026."""
    office = Office()
    for certificate, firm in (("T-1", "Stillbrook Testing"), ("T-2", "Quill Backflow")):
        tester = office.tester(certificate, firm=firm)
        tester.certifications.update(valid_to=date(2026, 12, 10))
    rows.Firm.objects.filter(name="Stillbrook Testing").update(email="desk@stillbrook.example")
    return office


def write(office: Office, on: date = TODAY) -> list[Letter]:
    return write_lapse_letters(office.program, today=on, at=AT, by="Ada Birch")


def test_nothing_is_written_before_the_program_says_when(office: Office) -> None:
    assert write(office) == []


def test_each_company_gets_one_letter_for_a_rung_and_never_a_second(office: Office) -> None:
    set_lapse_letters(office.program, days_before=[30], is_told_after=True, hand=HAND)
    first = write(office)
    assert sorted(one.address_lines[0] for one in first) == ["Quill Backflow", "Stillbrook Testing"]
    assert {one.kind for one in first} == {"credential-lapses"}
    assert write(office) == []
    assert write(office, date(2026, 12, 10)) == []
    after = write(office, date(2026, 12, 11))
    assert {one.kind for one in after} == {"credential-lapsed"}
    assert write(office, date(2026, 12, 12)) == []
    assert LetterAbout.objects.filter(key__startswith="lapse:").count() == 4


def test_it_goes_by_e_mail_where_there_is_an_address_and_else_waits_for_a_person(
    office: Office, settings: object
) -> None:
    settings.MAIL_IS_SET_UP = True  # type: ignore[attr-defined]
    set_lapse_letters(office.program, days_before=[30], is_told_after=False, hand=HAND)
    write(office)
    mailed = Letter.objects.get(recipient_key__startswith="firm:", flags=[])
    delivery = Delivery.objects.get(letter=mailed)
    assert (delivery.channel, delivery.address) == ("e-mail", "desk@stillbrook.example")
    waits = Letter.objects.exclude(pk=mailed.pk).get()
    assert waits.state == "composed"
    assert waits.flags
    assert "T-1" not in str(waits.content)


def test_the_letter_names_paper_and_day_and_threatens_nothing(office: Office) -> None:
    set_lapse_letters(office.program, days_before=[30], is_told_after=False, hand=HAND)
    letter = next(one for one in write(office) if "Stillbrook" in one.address_lines[0])
    said = json.dumps(letter.content, ensure_ascii=False).replace("\u00a0", " ")
    assert "Tester T-1, T-1" in said
    assert "December 10, 2026" in said
    for word in ("shut", "fine", "penalt", "must", "revoke"):
        assert word not in said.lower()


def test_a_new_term_ends_the_matter(office: Office) -> None:
    set_lapse_letters(office.program, days_before=[30], is_told_after=True, hand=HAND)
    rows.Certification.objects.update(valid_to=date(2028, 12, 10))
    assert write(office) == []


@pytest.mark.parametrize("days", [[0], [181], [1, 2, 3, 4, 5]])
def test_days_that_are_none_are_refused(office: Office, days: list[int]) -> None:
    with pytest.raises(Refused, match="At most four"):
        set_lapse_letters(office.program, days_before=days, is_told_after=False, hand=HAND)
    assert not LapseLetters.objects.exists()


def test_the_offices_clock_writes_for_live_programs_only(office: Office) -> None:
    set_lapse_letters(office.program, days_before=[30], is_told_after=False, hand=HAND)
    assert write_all in tasks.AFTER_WAKE
    assert write_all() == ""  # a trial lives on any day: a person writes there
    assert not Letter.objects.exists()
