"""A report that came in is never called missing: it is named with its mend, or holds the rungs."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from notices.domain.in_hand import ReportLacks
from notices.models import Letter
from registry.models import Assembly, Program
from reports.actions.deciding import settle_field_test
from reports.models import FieldTest
from reports.queries.reports_in_hand import lacks_of, newest_in_hand
from scheduling.models import Obligation
from tests.notices.offices import START, assembly, happened, office, owner, premises
from tests.notices.test_returned_letters import OVERDUE, hand, on, provide, run, told

pytestmark = pytest.mark.django_db

GAUGE = "Gauge G1 was calibrated on 2024-01-01; that holds 12 months."


@pytest.fixture
def program() -> Program:
    program = office()
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    return program


def report(program: Program, *, tested: int, came: int, waits: bool, key: str = "r") -> FieldTest:
    moment = datetime.combine(on(came), datetime.min.time(), tzinfo=UTC) + timedelta(hours=20)
    return FieldTest.objects.create(
        program=program,
        assembly=Assembly.objects.get(),
        digest=key,
        serial="S1",
        tested_on=on(tested),
        method="psi",
        outcome="pass",
        counts=False,
        reasons=[GAUGE],
        waits_for_person=waits,
        recorded_at=moment,
    )


def words_of(letter: Letter) -> str:
    return " ".join(letter.content["paragraphs"])


def test_one_that_waits_for_us_holds_overdue_rungs_for_fourteen_days(program: Program) -> None:
    # Where the rulebook says nothing, 14 days from its coming in: common practice.
    report(program, tested=-2, came=0, waits=True)
    run(program, 0)
    assert told() == []
    assert Obligation.objects.get(closed_on__isnull=True).next_action_on == on(15)
    run(program, 14)
    assert told() == []
    run(program, 15)
    assert told() == [("first-overdue", on(15))]
    assert "we have the report of the test" in words_of(Letter.objects.get(kind="first-overdue"))


def test_the_rulebook_says_for_how_many_days(program: Program) -> None:
    provide("report in hand", "days = 5")
    report(program, tested=-2, came=0, waits=True)
    run(program, 5)
    assert told() == []
    run(program, 6)
    assert told() == [("first-overdue", on(6))]


def test_reminders_are_not_held(program: Program) -> None:
    happened(Assembly.objects.get(), (("passed", on(-340)),), as_of=START)
    report(program, tested=-2, came=0, waits=True)
    run(program, 0)
    assert [rung for rung, _ in told()] in (["reminder"], ["second-reminder"])


def test_once_decided_that_it_does_not_count_the_rung_goes_and_names_it(program: Program) -> None:
    one = report(program, tested=-2, came=0, waits=True)
    run(program, 0)
    settle_field_test(program=program, test_id=one.pk, decision="Gauge too old.", hand=hand(3))
    run(program, 3)
    assert told() == [("first-overdue", on(3))]
    said = words_of(Letter.objects.get(kind="first-overdue"))
    assert "It does not count." in said
    assert "the gauge was calibrated" in said
    assert "January 3, 2026" in said.replace("\u00a0", " ")  # the day of the test


def test_a_report_that_does_not_count_gets_a_letter_of_its_own_once(program: Program) -> None:
    report(program, tested=-2, came=0, waits=False)
    for later in (1, 2, 3):
        run(program, later)
    (letter,) = Letter.objects.filter(kind="report-not-counted")
    assert (letter.state, letter.needs_release) == ("composed", True)
    assert "We have the report of the test" in words_of(letter)


def test_it_is_withdrawn_while_it_waits_when_a_report_counts_after_all(program: Program) -> None:
    report(program, tested=-2, came=0, waits=False)
    run(program, 1)
    happened(Assembly.objects.get(), (("passed", on(-1)),), as_of=on(2))
    run(program, 2)
    letter = Letter.objects.get(kind="report-not-counted")
    assert letter.state == "withdrawn"


def test_one_from_before_the_test_was_owed_says_nothing(program: Program) -> None:
    report(program, tested=-800, came=-790, waits=True)
    run(program, 0)
    assert told() == [("first-overdue", START)]
    assert "report" not in words_of(Letter.objects.get())


def test_a_later_report_that_counts_takes_its_place(program: Program) -> None:
    report(program, tested=-2, came=0, waits=False)
    later = report(program, tested=-1, came=1, waits=False, key="later")
    FieldTest.objects.filter(pk=later.pk).update(counts=True)
    assert newest_in_hand([Assembly.objects.get().pk]) == {}


@pytest.mark.parametrize(
    ("reason", "lack"),
    [
        ("No certificate number on the report: the tester is not verified.", ReportLacks.NUMBERS),
        ("No gauge serial on the report: the gauge is not verified.", ReportLacks.NUMBERS),
        ("Tester T-9 is known only from the report: not verified.", ReportLacks.TESTER),
        ("The certificate T-9 ended on 2026-03-31, before the test.", ReportLacks.TESTER),
        ("No term of the certificate T-9 is on record: not verified.", ReportLacks.TESTER),
        ("The certificate T-9 covers RP on 2026-01-01, and this is a DC.", ReportLacks.CLASSES),
        (GAUGE, ReportLacks.GAUGE),
        ("No calibration of gauge G1 is on record: not verified.", ReportLacks.GAUGE),
        ("It counted, and was taken out of the count later.", ReportLacks.OTHER),
    ],
)
def test_every_reason_of_a_report_has_its_words_in_a_letter(reason: str, lack: ReportLacks) -> None:
    assert lacks_of([reason]) == (lack,)
