"""A notice whose cause a correction took away counts for nothing, and a letter says so once."""

from __future__ import annotations

from datetime import date

import pytest

from notices.actions.sent_in_error import mark_letter
from notices.models import Letter, LetterAbout, Notice
from registry.console import Refused
from registry.models import Program
from scheduling.actions.facts import withdraw_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.models import Fact
from tests.notices.offices import assembly, happened, office, owner, premises
from tests.notices.test_returned_letters import OVERDUE, at, hand, on, run

pytestmark = pytest.mark.django_db


def corrections() -> list[Letter]:
    return list(Letter.objects.filter(kind="correction").order_by("pk"))


def in_error() -> list[str]:
    rows = Notice.objects.filter(sent_in_error_on__isnull=False).order_by("pk")
    return list(rows.values_list("rung", flat=True))


@pytest.fixture
def program() -> Program:
    return office(languages="en,es")


def test_a_pass_recorded_late_but_performed_before_makes_the_notice_an_error(
    program: Program,
) -> None:
    one = assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    letter = Letter.objects.get()
    happened(one, (("passed", on(-3)),), as_of=on(9))  # its report came in on the ninth day
    run(program, 9)
    notice = Notice.objects.get(rung="first-overdue")
    assert (notice.sent_in_error_on, notice.sent_in_error_by) == (on(9), "run of the day")
    assert "passed" in notice.sent_in_error_reason
    (sent,) = corrections()
    assert (sent.state, sent.recipient_id) == ("left", letter.recipient_id)
    told = " ".join([*sent.content["headline"], *sent.content["paragraphs"]])
    assert letter.number in told
    assert "A test had passed before it left" in told
    assert sent.content["second_language"] == "es"
    for later in (9, 10, 40):
        run(program, later)
    assert len(corrections()) == 1  # once
    assert LetterAbout.objects.count() == 1


def test_a_pass_of_the_day_it_left_or_later_is_no_error(program: Program) -> None:
    one = assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    happened(one, (("passed", on(0)),), as_of=on(9))
    run(program, 9)
    assert (in_error(), corrections()) == ([], [])


def test_a_withdrawn_failure_takes_the_repair_notice_back(program: Program) -> None:
    one = assembly(
        premises(program, of=owner(program)), facts=(("passed", on(-330)), ("failed", on(-1)))
    )
    run(program, 0)
    assert Notice.objects.get().rung == "repair"
    failed = Fact.objects.get(assembly=one, kind="failed")
    withdraw_facts(
        program=program, fact_ids=[failed.pk], at=at(program, 4).at, reason="No.", by="A"
    )
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=on(4))
    run(program, 4)
    assert in_error() == ["repair"]
    (sent,) = corrections()
    assert "Our record was wrong" in " ".join(sent.content["paragraphs"])


def test_the_rungs_start_anew_where_a_test_is_still_owed(program: Program) -> None:
    # The pass of 2024 is corrected to 10 January 2025: overdue from 11 January 2026, day 6.
    one = assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    stated = Fact.objects.get(assembly=one)
    withdraw_facts(
        program=program, fact_ids=[stated.pk], at=at(program, 3).at, reason="No.", by="A"
    )
    happened(one, (("passed", date(2025, 1, 10)),), as_of=on(3))
    run(program, 3)
    assert in_error() == ["first-overdue"]
    assert "new letter says by when" in str(corrections()[0].content["sections"])
    run(program, 6)
    again = Notice.objects.get(rung="first-overdue", sent_in_error_on__isnull=True)
    assert again.left_on == on(6)
    run(program, 20)  # rule 7: 14 days after the first left, and the first is that of day 6
    assert Notice.objects.get(rung="second-overdue").left_on == on(20)


def test_a_reminder_in_error_is_marked_and_not_written_about(program: Program) -> None:
    one = assembly(premises(program, of=owner(program)), facts=(("passed", on(-340)),))
    run(program, 0)
    assert Notice.objects.get().rung in {"reminder", "second-reminder"}
    happened(one, (("passed", on(-2)),), as_of=on(5))
    run(program, 5)
    assert len(in_error()) == 1
    assert corrections() == []


def test_an_extension_given_later_takes_nothing_back(program: Program) -> None:
    one = assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    from scheduling.actions.facts import NewFact, record_facts
    from scheduling.domain.facts import FactKind

    late = NewFact(assembly_id=one.pk, kind=FactKind.EXTENDED, on=on(2), until=on(60))
    record_facts(program=program, facts=[late], recorded_at=at(program, 2).at, by="A")
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=on(2))
    run(program, 2)
    assert in_error() == []


def test_a_person_may_mark_a_letter_with_a_reason_and_only_once(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, 0)
    letter = Letter.objects.get()
    with pytest.raises(Refused, match="what was wrong"):
        mark_letter(letter, reason=" ", day=at(program, 2), hand=hand(2))
    (sent,) = mark_letter(letter, reason="Another building.", day=at(program, 2), hand=hand(2))
    assert (sent.kind, sent.state) == ("correction", "composed")
    notice = Notice.objects.get()
    assert (notice.sent_in_error_by, notice.sent_in_error_reason) == (
        "A. Clerk",
        "Another building.",
    )
    with pytest.raises(Refused, match="already"):
        mark_letter(letter, reason="Again.", day=at(program, 2), hand=hand(2))
    run(program, 3)  # the record still says that it is overdue: the rung is owed anew
    assert Notice.objects.filter(rung="first-overdue", left_on=on(3)).exists()
    letter.refresh_from_db()
    sent.refresh_from_db()
    assert (letter.state, sent.state) == ("left", "left")
