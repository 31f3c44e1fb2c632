"""The ledger: what was recorded cannot be changed, taken out or cut off without being named."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from notices import tasks
from notices.actions.day import run_day
from notices.actions.fees import NewFee, owe_fee
from notices.actions.shutoff_answers import Said, record_answer, strike_answer
from notices.actions.work_orders import CrewReport, order_work_off, record_done
from notices.domain.shutoffs import AnswerKind, AnswerSays
from notices.models import Contact, Delivery, Letter, LetterFile, Notice, ShutoffAnswer, WorkOrder
from registry.changes import Hand
from registry.models import Assembly, Erasure, LoadBatch, Program
from reports.actions.taking_back import take_back_tests
from reports.ledger.checking import differences
from reports.ledger.nightly import seal_all
from reports.ledger.recomputing import wrong_dates, wrong_verdicts
from reports.ledger.sealing import head_of, seal
from reports.models import FieldTest, LedgerEntry, LedgerSeal, TakenBackReport
from scheduling.actions.facts import withdraw_facts
from scheduling.models import Fact, Obligation
from tests.notices.offices import START, assembly, happened, office, owner, premises
from tests.notices.shutoff_cases import CLERK, ORDERED, TUESDAY, day, prepared, signed

pytestmark = [pytest.mark.django_db, pytest.mark.database]

AT = datetime(2026, 1, 6, 3, tzinfo=UTC)
NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2023, 12, 1)), ("passed", date(2024, 12, 1)))


@pytest.fixture
def program() -> Program:
    """Two assemblies with facts and letters, sealed once."""
    made = office()
    for number in (1, 2):
        place = premises(made, number, of=owner(made, f"Owner {number}"))
        assembly(place, f"S{number}", facts=OVERDUE)
    run_day(program=made, as_of=START, now=NOW)
    seal(made, on=START, at=AT)
    return made


def found(program: Program, *, head: str = "") -> list[str]:
    return list(differences(program, head=head))


def test_what_nobody_touched_holds(program: Program) -> None:
    kinds = set(LedgerEntry.objects.values_list("kind", flat=True))
    assert kinds == {"fact", "letter", "letter left"}
    assert LedgerSeal.objects.get().size == LedgerEntry.objects.count() == 8
    assert found(program, head=head_of(program)) == []


def test_sealing_again_writes_nothing_and_later_adds_what_is_new(program: Program) -> None:
    assert seal(program, on=START, at=AT).new == 0
    assert LedgerSeal.objects.count() == 1
    first = head_of(program)
    happened(Assembly.objects.get(serial="S1"), (("passed", START),), as_of=START)
    assert seal(program, on=START + timedelta(days=1), at=AT).new == 1
    assert found(program) == []
    assert found(program, head=first) == []  # an old head still holds


def test_a_changed_fact_is_named_with_what_changed(program: Program) -> None:
    one = Fact.objects.order_by("pk")[0]
    Fact.objects.filter(pk=one.pk).update(on=date(2025, 12, 1))
    (said,) = found(program)
    assert said == f"Fact {one.pk}: on was '2023-12-01', now '2025-12-01'."


def test_a_fact_taken_out_is_named(program: Program) -> None:
    one = Fact.objects.order_by("pk")[0]
    Fact.objects.filter(pk=one.pk).delete()
    (said,) = found(program)
    assert f"Fact {one.pk} is gone" in said


def test_a_fact_withdrawn_the_right_way_is_no_difference(program: Program) -> None:
    one = Fact.objects.order_by("pk")[0]
    withdraw_facts(program=program, fact_ids=[one.pk], at=AT, reason="wrong", by="Ada")
    assert found(program) == []
    seal(program, on=START, at=AT)
    assert LedgerEntry.objects.filter(kind="fact withdrawn", subject=one.pk).exists()


def test_letters_bytes_and_the_day_they_left_are_held_to_what_was_sent(program: Program) -> None:
    letter = Letter.objects.order_by("pk")[0]
    LetterFile.objects.filter(pk=letter.pk).update(pdf=bytes(letter.file.pdf) + b" ")
    (said,) = found(program)
    assert said == f"Letter {letter.number}: its kept bytes are not those that were sent."
    LetterFile.objects.filter(pk=letter.pk).update(pdf=bytes(letter.file.pdf))
    Delivery.objects.filter(letter=letter).update(left_on=START - timedelta(days=30))
    (said,) = found(program)
    assert "left_on was '2026-01-05', now '2025-12-06'" in said


def test_an_entry_rewritten_to_fit_breaks_the_seal(program: Program) -> None:
    """Who changes a row and its entry and its leaf still has the seal against him."""
    from reports.domain.merkle import entry_bytes, leaf_hash

    entry = LedgerEntry.objects.filter(kind="fact").order_by("number")[0]
    Fact.objects.filter(pk=entry.subject).update(on=date(2025, 12, 1))
    entry.body = {**entry.body, "on": "2025-12-01"}
    data = entry_bytes(
        kind=entry.kind, subject=entry.subject, body=entry.body, personal=entry.personal
    )
    entry.leaf = leaf_hash(data).hex()
    entry.save()
    (said,) = found(program)
    assert (
        said
        == "The seal of 2026-01-05 over 8 entries does not hold: something under it was changed."
    )


@pytest.mark.parametrize("cut", [1, 3])
def test_the_newest_rows_cut_off_are_noticed_by_a_seal_or_a_printed_head(
    program: Program, cut: int
) -> None:
    printed = head_of(program)
    for entry in LedgerEntry.objects.order_by("-number")[:cut]:
        entry.delete()
    assert any(f"the newest {cut}" in said for said in found(program))
    # The seals go too, and are made anew: now only the head on paper knows.
    LedgerSeal.objects.all().delete()
    assert found(program) == []
    seal(program, on=START, at=AT)
    told = found(program, head=printed)
    assert told  # the entries written anew have other salts: the printed root cannot be met
    assert found(program, head=printed.partition(":")[2])


def test_a_gap_in_the_middle_is_named(program: Program) -> None:
    LedgerEntry.objects.filter(number__in=(3, 4)).delete()
    assert "Entries 3 to 4 missing from the ledger." in found(program)


def test_a_person_can_be_erased_and_the_seals_hold(program: Program) -> None:
    letter = Letter.objects.order_by("pk")[0]
    Letter.objects.filter(pk=letter.pk).update(address_lines=[])
    (said,) = found(program)
    assert said == f"Letter {letter.number}: the personal data were changed."
    entry = LedgerEntry.objects.filter(kind="letter", subject=letter.pk)
    entry.update(salt="")
    (said,) = found(program)
    assert "its salt was taken away, and no erasure on record says why" in said
    Erasure.objects.create(
        program=program, what="party", subject_id=1, at=AT, by="Ada", reason="asked",
        entries=list(entry.values_list("number", flat=True)),
    )  # fmt: skip
    assert found(program, head=head_of(program)) == []


def taken_back(program: Program, *, at: datetime) -> FieldTest:
    """A field test of a file, sealed, then taken back with its file."""
    batch = LoadBatch.objects.create(
        program=program, what="tests", file_name="march.csv", as_of=START, at=AT
    )
    test = FieldTest.objects.create(
        program=program, batch=batch, serial="S1", tested_on=START, method="usc10", digest="d" * 64,
        initial={"check1": "1.9"}, recorded_at=at,
    )  # fmt: skip
    seal(program, on=START, at=AT)
    pk = test.pk
    hand = Hand(by="Ada Birch", at=AT, reason="the wrong month")
    take_back_tests(program=program, batch_id=batch.pk, as_of=START, hand=hand)
    assert not FieldTest.objects.exists()
    test.pk = pk
    return test


@pytest.mark.parametrize("microsecond", [0, 123456])
def test_a_test_taken_back_with_its_file_is_told_and_is_no_difference(
    program: Program, microsecond: int
) -> None:
    test = taken_back(program, at=AT.replace(microsecond=microsecond))
    assert found(program, head=head_of(program)) == []
    code, said = answered("check_ledger", "--program", "flats")
    assert code == 0
    assert said["taken_back"] == [
        (
            f"Field test {test.pk} (S1, {START}) was taken back on 2026-01-06 by Ada Birch: "
            "the wrong month"
        )
    ]


def test_a_test_changed_where_it_is_kept_after_taking_back_is_named(program: Program) -> None:
    taken_back(program, at=AT)
    kept = TakenBackReport.objects.get()
    kept.row["initial"] = {"check1": "2.1"}
    kept.save()
    (said,) = found(program)
    assert "initial was {'check1': '1.9'}, now {'check1': '2.1'}" in said


def test_a_test_gone_that_nobody_took_back_is_still_named(program: Program) -> None:
    taken_back(program, at=AT)
    TakenBackReport.objects.all().delete()
    (said,) = found(program)
    assert "is gone" in said


def test_what_was_done_around_an_order_is_held_to_the_ledger() -> None:
    shutoff = signed(prepared("fee"))
    program, home = shutoff.program, shutoff.premises
    (work,) = order_work_off(shutoff, for_on=TUESDAY, today=ORDERED, hand=CLERK)
    report = CrewReport(on=TUESDAY, at=None, by="B. Birch", reading="0044", words="")
    record_done(work, report=report, day=day(program, TUESDAY), hand=CLERK)
    fee = owe_fee(
        home,
        new=NewFee(rule="more 0", amount=Decimal(45), why="off", on=TUESDAY, form_key="a"),
        today=TUESDAY,
        hand=CLERK,
    )
    talk = Contact.objects.create(
        program=program, premises=home, kind="call", on=TUESDAY, words="Booked", taken_by="c",
        taken_at=AT, form_key="k",
    )  # fmt: skip
    seal(program, on=TUESDAY, at=AT)
    assert found(program) == []
    WorkOrder.objects.filter(pk=work.pk).update(reading="0099")
    type(fee).objects.filter(pk=fee.pk).update(amount=Decimal(54))
    Contact.objects.filter(pk=talk.pk).update(words="Refused")
    assert found(program) == [
        f"Contact {talk.pk}: the personal data were changed.",
        "Work order done 1: reading was '0044', now '0099'.",
        f"Fee {fee.pk}: amount was '45.00', now '54.00'.",
    ]


def test_an_answer_struck_is_an_entry_of_its_own_and_cannot_be_unstruck_unseen() -> None:
    program = office()
    home = premises(program, of=owner(program))
    answer = record_answer(
        home, today=TUESDAY, hand=CLERK,
        said=Said(kind=AnswerKind.MEDICAL, says=AnswerSays.MAY, on=TUESDAY, by="A. Alder",
                  words="Water is stored", until=None),
    )  # fmt: skip
    seal(program, on=TUESDAY, at=AT)
    strike_answer(answer, hand=replace(CLERK, reason="Another building"))
    assert found(program) == []  # what was sealed before stands as it was
    seal(program, on=TUESDAY, at=AT + timedelta(hours=1))
    kinds = LedgerEntry.objects.filter(subject=answer.pk, kind__startswith="answer")
    assert list(kinds.order_by("number").values_list("kind", flat=True)) == [
        "answer",
        "answer struck",
    ]
    ShutoffAnswer.objects.filter(pk=answer.pk).update(struck_why="It was the right one")
    assert found(program) == [f"Answer struck {answer.pk}: the personal data were changed."]
    ShutoffAnswer.objects.filter(pk=answer.pk).update(struck_at=None)
    (said,) = found(program)
    assert said.startswith(f"Answer struck {answer.pk}")


def test_a_stored_date_its_facts_do_not_give_is_named(program: Program) -> None:
    assert list(wrong_dates(program)) == []
    row = Obligation.objects.get(assembly__serial="S1", closed_on__isnull=True)
    Obligation.objects.filter(pk=row.pk).update(due_on=row.due_on + timedelta(days=60))
    (said,) = wrong_dates(program)
    assert (
        said
        == f"S1: due_on is {row.due_on + timedelta(days=60)} as stored, {row.due_on} by its facts."
    )


def test_an_obligation_taken_out_and_one_put_in_are_named(program: Program) -> None:
    row = Obligation.objects.get(assembly__serial="S1", closed_on__isnull=True)
    due = row.due_on
    Obligation.objects.filter(pk=row.pk).update(origin="cycle:2020-01-01")
    assert list(wrong_dates(program)) == [
        f"S1: the facts give no obligation due {due}.",
        f"S1: an obligation due {due} is gone; its facts give one.",
    ]
    Notice.objects.filter(obligation=row).update(obligation=None)
    Obligation.objects.filter(pk=row.pk).delete()
    assert list(wrong_dates(program)) == [
        f"S1: an obligation due {due} is gone; its facts give one."
    ]


def test_a_row_in_the_middle_of_the_ledger_taken_out_and_numbers_closed_breaks_the_seal(
    program: Program,
) -> None:
    LedgerEntry.objects.filter(number=4).delete()
    for entry in LedgerEntry.objects.filter(number__gt=4).order_by("number"):
        LedgerEntry.objects.filter(pk=entry.pk).update(number=entry.number - 1)
    (said,) = found(program)
    assert said == "The seal of 2026-01-05 covers 8 entries; the newest 1 entry is gone."


def test_a_row_slipped_in_with_an_earlier_day_is_named(program: Program) -> None:
    one = Fact.objects.order_by("pk")[0]
    Program.objects.filter(pk=program.pk).update(is_trial=False, go_live_on=START)
    program.refresh_from_db()
    late = Fact.objects.create(
        program=program, assembly=one.assembly, kind="passed", on=date(2025, 12, 1),
        recorded_at=AT - timedelta(days=30), source="by hand",
    )  # fmt: skip
    (said,) = found(program)
    assert said == (
        f"Fact {late.pk} says it was recorded on 2025-12-07; the seal of 2026-01-05 does not "
        "have it."
    )
    seal(program, on=START + timedelta(days=1), at=AT + timedelta(days=1))
    assert found(program) != []  # sealing it afterwards does not wash it


def test_a_fact_of_today_that_no_seal_has_yet_is_no_difference(program: Program) -> None:
    Program.objects.filter(pk=program.pk).update(is_trial=False, go_live_on=START)
    program.refresh_from_db()
    happened(Assembly.objects.get(serial="S1"), (("passed", START),), as_of=START)
    Fact.objects.filter(on=START).update(recorded_at=AT + timedelta(hours=2))
    assert found(program) == []


def a_field_test(program: Program, file: Path) -> FieldTest:
    """A double check that passes under usc10, stored by the load of a sheet."""
    file.write_text(
        "Serial,Test Date,Tester Cert,Gauge Serial,Initial CK1,Initial CK2,SOV2 Tight,Result\n"
        "S1,2026-01-04,T-1,G-1,2.1,1.9,Y,PASS\n"
    )
    sheet = ("load_tests", str(file), "--program", program.code, "--method", "usc10")
    answered(*sheet, "--as-of", START.isoformat())
    return FieldTest.objects.get()


def test_a_changed_verdict_and_a_changed_margin_are_named(program: Program, tmp_path: Path) -> None:
    test = a_field_test(program, tmp_path / "tests.csv")
    assert list(wrong_verdicts(program)) == []
    FieldTest.objects.filter(pk=test.pk).update(outcome="fail")
    (said,) = wrong_verdicts(program)
    assert said == (
        "Field test of S1, 2026-01-04: the outcome is fail as stored, pass by its readings."
    )
    criteria = [{**one, "limit": "9.9"} for one in test.verdict["initial"]["criteria"]]
    test.verdict["initial"]["criteria"] = criteria
    FieldTest.objects.filter(pk=test.pk).update(outcome=test.outcome, verdict=test.verdict)
    (said,) = wrong_verdicts(program)
    assert "what its initial test was held to is not what its readings" in said


def answered(*args: str) -> tuple[int, Any]:
    said, code = StringIO(), 0
    try:
        call_command(*args, "--json", stdout=said, stderr=StringIO())
    except SystemExit as ended:
        code = int(ended.code or 0)
    return code, json.loads(said.getvalue())


def test_the_commands_seal_check_and_refuse(program: Program) -> None:
    code, sealed = answered("seal_ledger", "--program", "flats")
    assert (code, sealed["new"], sealed["head"]) == (0, 0, head_of(program))
    code, said = answered("check_ledger", "--program", "flats", "--head", sealed["head"])
    assert (code, said["differences"], said["entries"]) == (0, [], 8)
    Fact.objects.order_by("pk")[0].delete()
    code, said = answered("check_ledger")
    assert code == 1
    assert "is gone" in said[0]["differences"][0]
    assert answered("check_ledger", "--program", "nobody")[0] == 2
    assert answered("check_ledger", "--head", "short")[0] == 2


def test_the_offices_clock_seals_each_program_once_a_day(program: Program) -> None:
    assert seal_all in tasks.AFTER_WAKE
    happened(Assembly.objects.get(serial="S1"), (("passed", START),), as_of=START)
    assert seal_all() == "sealed flats"
    assert seal_all() == ""
    assert LedgerSeal.objects.count() == 2
