"""An office that switches: its past comes along as stated, and every ladder goes on from it."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from notices.actions.day import run_day
from notices.actions.history import HistoryReport, load_history
from notices.actions.preview import preview_day
from notices.models import Letter, Notice
from notices.queries.evidence import evidence_of
from notices.queries.left_rungs import left_rungs_of
from notices.queries.left_then import left_then
from registry.console import Refused
from registry.models import Assembly, LoadBatch, Program
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.domain.facts import FactKind
from scheduling.models import DayRun, Fact, Obligation
from scheduling.queries.standings import explain_assembly
from tests.notices.offices import START, assembly, district, office, owner, premises

pytestmark = pytest.mark.django_db

HEADER = "Serial,What,Date,Letter,Until,Reason"
NOW = datetime(2026, 1, 5, 20, tzinfo=UTC)


def bring(program: Program, *lines: str, header: str = HEADER, **more: Any) -> HistoryReport:
    data = "\n".join([header, *lines]).encode()
    return load_history(
        source=SourceFile(name="past.csv", data=data),
        program=program,
        as_of=more.get("as_of", START),
        now=NOW,
        by="a test",
        dry_run=more.get("dry_run", False),
    )


def one(**changes: Any) -> tuple[Program, Assembly]:
    program = office()
    made = assembly(premises(program, of=owner(program)), **changes)
    return program, made


def live(made: Assembly) -> list[tuple[str, date, str]]:
    facts = Fact.objects.filter(assembly=made, withdrawn_at=None).order_by("on", "pk")
    return [(fact.kind, fact.on, fact.source) for fact in facts]


def test_past_tests_and_extensions_become_stated_facts_and_are_replayed() -> None:
    program, made = one()
    report = bring(
        program,
        "S1,test passed,2024-09-04,,,",
        "s1,failed,10/1/2025,,,relief valve",
        "S1,extension,2025-10-03,,2026-03-01,parts on order",
    )
    assert (report.tests, report.extensions, report.base.rejected) == (2, 1, [])
    assert live(made) == [
        ("passed", date(2024, 9, 4), "stated"),
        ("failed", date(2025, 10, 1), "stated"),
        ("extended", date(2025, 10, 3), "stated"),
    ]
    assert Obligation.objects.get(assembly=made, closed_on=None).due_on == date(2026, 3, 1)


def test_a_ladder_goes_on_where_the_other_office_stood() -> None:
    # Passed 2024-09-04, yearly: due 2025-09-04. The first overdue letter left 2025-09-10, so
    # the first run here owes the second, and neither a reminder nor the first again.
    program, made = one()
    report = bring(program, "S1,passed,2024-09-04,,,", "S1,letter,2025-09-10,past due notice,,")
    assert (report.letters, report.base.rejected) == (1, [])
    notice = Notice.objects.get()
    assert (notice.rung, notice.left_on, notice.is_brought_along) == (
        "first-overdue",
        date(2025, 9, 10),
        True,
    )
    assert "past.csv, row 3" in notice.reasons[0]["arithmetic"]
    assert not Letter.objects.exists()
    run_day(program=program, as_of=START, now=NOW)
    assert list(Letter.objects.values_list("kind", flat=True)) == ["second-overdue"]
    said = explain_assembly(
        assembly=made, as_of=START, left=left_rungs_of(assembly=made, as_of=date(2026, 1, 4))
    )
    assert said.rung == "second-overdue"


def test_a_numbered_letter_is_the_rung_its_day_says() -> None:
    # "Second notice" before the due date is a reminder, after it an overdue rung.
    program, _ = one()
    bring(
        program,
        "S1,passed,2024-09-04,,,",
        "S1,2nd notice,2025-08-20,,,",
        "S1,1st notice,2025-09-08,,,",
        "S1,2nd notice,2025-10-09,,,",
    )
    left = Notice.objects.order_by("left_on").values_list("rung", flat=True)
    assert list(left) == ["second-reminder", "first-overdue", "second-overdue"]
    assert Notice.objects.values("obligation").distinct().count() == 1


def test_letters_of_a_closed_year_count_for_that_year() -> None:
    program, made = one()
    bring(
        program,
        "S1,passed,2023-09-04,,,",
        "S1,letter,2024-09-20,first-overdue,,",
        "S1,passed,2024-10-01,,,",
    )
    notice = Notice.objects.select_related("obligation").get()
    assert notice.obligation is not None
    assert (notice.obligation.due_on, notice.obligation.closed_on) == (
        date(2024, 9, 4),
        date(2024, 10, 1),
    )
    run_day(program=program, as_of=START, now=NOW)
    assert [letter.kind for letter in Letter.objects.all()] == ["first-overdue"]
    assert made.notices.filter(rung="first-overdue").count() == 2


def test_a_letter_counts_by_what_was_owed_on_its_day_not_by_what_was_decided_later() -> None:
    # Overdue since 2024-09-04, a letter of 2025-03-15, extended on 2025-04-01; failed on
    # 2025-06-01, a repair letter, cured by the pass of 2025-06-20.
    program, made = one()
    report = bring(
        program,
        "S1,passed,2023-09-04,,,",
        "S1,letter,2025-03-15,first-overdue,,",
        "S1,extension,2025-04-01,,2025-07-01,",
        "S1,failed,2025-06-01,,,",
        "S1,repair letter,2025-06-02,,,",
        "S1,passed,2025-06-20,,,",
    )
    assert report.base.rejected == []
    left = Notice.objects.order_by("left_on").values_list("rung", "obligation__closed_on")
    assert list(left) == [
        ("first-overdue", date(2025, 6, 20)),
        ("repair", date(2025, 6, 20)),
    ]
    assert made.notices.count() == 2


def test_an_order_shows_letters_that_were_brought_along_as_evidence() -> None:
    program, _ = one()
    bring(
        program,
        "S1,passed,2024-09-04,,,",
        "S1,letter,2025-09-10,first-overdue,,",
        "S1,letter,2025-10-10,second-overdue,,",
        "S1,letter,2025-11-10,final,,",
    )
    run_day(program=program, as_of=START, now=NOW)
    order = Letter.objects.get(is_order=True)
    sent = evidence_of(order, today=order.composed_on).cases[0].sent
    assert [(each.rung, each.left_on) for each in sent] == [
        ("first-overdue", "2025-09-10"),
        ("second-overdue", "2025-10-10"),
        ("final", "2025-11-10"),
    ]
    assert {each.letter for each in sent} == {"as stated; no copy is kept here"}


def test_what_was_brought_along_was_not_known_before() -> None:
    program, made = one(facts=[(FactKind.PASSED, date(2024, 9, 4))])
    bring(program, "S1,letter,2025-09-10,first-overdue,,")
    before, on = date(2026, 1, 4), date(2025, 12, 1)
    assert left_then(assembly=made, by=on, known_on=before) == {}
    assert len(left_then(assembly=made, by=on, known_on=START)) == 1


def test_a_letter_that_fits_no_obligation_is_set_aside_and_told() -> None:
    program, _ = one()
    report = bring(program, "S1,passed,2025-09-04,,,", "S1,letter,2025-12-01,final notice,,")
    assert report.letters == 0
    fault = report.base.rejected[0]
    assert (fault.row, fault.column, fault.value) == (3, "Date", "2025-12-01")
    assert "fits no obligation" in fault.message
    assert LoadBatch.objects.get(what="history").set_aside.count() == 1


def test_the_same_file_again_changes_nothing() -> None:
    program, _ = one()
    lines = (
        "S1,passed,2024-09-04,,,",
        "S1,letter,2025-09-10,first-overdue,,",
        "S1,letter,2025-07-01,final,,",
    )
    first = bring(program, *lines)
    facts, notices = Fact.objects.count(), Notice.objects.count()
    again = bring(program, *lines)
    assert (first.base.created, again.base.created, again.base.unchanged) == (2, 0, 2)
    assert (Fact.objects.count(), Notice.objects.count()) == (facts, notices)
    assert LoadBatch.objects.filter(what="history").count() == 1


def test_what_was_withdrawn_stays_withdrawn_and_is_told() -> None:
    program, made = one()
    bring(program, "S1,passed,2024-09-04,,,")
    Fact.objects.update(withdrawn_at=NOW, withdrawn_reason="wrong assembly")
    report = bring(program, "S1,passed,2024-09-04,,,")
    assert report.base.created == 0
    assert "wrong assembly" in report.base.warnings[0].message
    assert live(made) == []


def test_an_early_courtesy_letter_of_another_office_counts_for_what_is_coming() -> None:
    # Due 2026-02-20. The other office wrote 60 days before; no second courtesy letter follows.
    program, made = one()
    bring(program, "S1,passed,2025-02-20,,,", "S1,courtesy letter,2025-12-22,,,")
    obligation = Obligation.objects.get(assembly=made, closed_on=None)
    assert Notice.objects.get().obligation == obligation
    assert obligation.due_on == date(2026, 2, 20)


@pytest.mark.parametrize(
    ("line", "column"),
    [
        (",passed,2024-09-04,,,", "Serial"),
        ("S1,passed,,,,", "Date"),
        ("S1,passed,2027-01-01,,,", "Date"),
        ("S1,extension,2025-10-03,,,", "Until"),
        ("S1,extension,2025-10-03,,2025-10-01,", "Until"),
        ("S1,letter,2025-10-03,yellow card,,", "Letter"),
        ("S1,sang,2025-10-03,,,", "What"),
        ("S9,passed,2024-09-04,,,", "Serial"),
    ],
)
def test_a_row_that_cannot_be_read_is_set_aside(line: str, column: str) -> None:
    program, made = one()
    report = bring(program, "S1,passed,2024-09-04,,,", line)
    assert [(fault.row, fault.column) for fault in report.base.rejected] == [(3, column)]
    assert (report.base.rows, report.base.created) == (2, 1)
    assert [kind for kind, _, _ in live(made)] == ["passed"]


def test_a_serial_under_several_makers_asks_for_the_maker() -> None:
    program = office()
    place = premises(program, of=owner(program))
    assembly(place, maker="Northfork", maker_key="northfork")
    assembly(place, maker="Ironbridge", maker_key="ironbridge")
    report = bring(
        program,
        "S1,,passed,2024-09-04",
        "S1,Ironbridge,passed,2024-09-04",
        header="Serial,Make,What,Date",
    )
    assert "Ironbridge, Northfork" in report.base.rejected[0].message
    assert report.tests == 1


def test_a_dry_run_writes_nothing() -> None:
    program, _ = one()
    report = bring(
        program, "S1,passed,2024-09-04,,,", "S1,letter,2025-09-10,first-overdue,,", dry_run=True
    )
    assert (report.tests, report.letters) == (1, 1)
    assert not Fact.objects.exists()
    assert not Notice.objects.exists()
    assert not LoadBatch.objects.filter(what="history").exists()


def test_a_file_without_serials_or_days_is_refused() -> None:
    program, _ = one()
    with pytest.raises(LoadRefusedError, match="a column of days"):
        bring(program, "S1,passed", header="Serial,What")


def test_the_preview_says_what_the_run_then_sends_and_writes_nothing() -> None:
    program = district(40)
    with CaptureQueriesContext(connection) as asked:
        said = preview_day(program=program, as_of=START, now=NOW)
    writing = ("INSERT", "UPDATE", "DELETE")
    assert [q["sql"] for q in asked if q["sql"].lstrip("( ").upper().startswith(writing)] == []
    assert not DayRun.objects.exists()
    tally = run_day(program=program, as_of=START, now=NOW)
    assert (said.would_open, said.notices, said.letters) == (
        tally.obligations_opened,
        tally.notices,
        tally.letters,
    )
    assert {rung.rung: rung.letters for rung in said.rungs} == {
        kind: Letter.objects.filter(kind=kind).count()
        for kind in Letter.objects.values_list("kind", flat=True).distinct()
    }
    assert said.letters > 0


def test_the_preview_of_an_office_not_yet_live_shows_what_its_first_day_would_send() -> None:
    program, _ = one(facts=[(FactKind.PASSED, date(2024, 9, 4))])
    Program.objects.update(is_trial=False, go_live_on=None)
    program.refresh_from_db()
    said = preview_day(program=program, as_of=START, now=NOW)
    assert (said.is_live, said.letters) == (False, 1)
    assert said.lines[0].serials == ("S1",)


def test_a_preview_of_a_day_before_the_last_run_is_refused() -> None:
    program, _ = one()
    run_day(program=program, as_of=date(2026, 1, 9), now=NOW)
    with pytest.raises(Refused, match="lies before it"):
        preview_day(program=program, as_of=START, now=NOW)


def said_by(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, Any]:
    code = 0
    try:
        call_command(*args, "--json")
    except SystemExit as end:
        code = int(end.code or 0)
    return code, json.loads(capsys.readouterr().out)


def test_the_commands_answer_as_they_promise(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one()
    file = tmp_path / "past.csv"
    file.write_text(f"{HEADER}\nS1,passed,2024-09-04,,,\nS1,sang,2025-10-03,,,\n")
    common = ("--program", "flats", "--as-of", START.isoformat())
    code, said = said_by(capsys, "load_history", str(file), *common)
    assert (code, said["rows"], said["brought"]["tests"]) == (1, 2, 1)
    assert said["columns"]["Letter"] == "rung"
    code, said = said_by(capsys, "run_day", *common, "--preview")
    assert (code, said["letters"]) == (0, 1)
    assert said["rungs"] == [{"rung": "first-overdue", "letters": 1, "notices": 1}]
    assert not DayRun.objects.exists()
    assert said_by(capsys, "load_history", str(file), "--program", "nowhere")[0] == 2


def test_a_spreadsheet_of_the_registry_takes_nothing_back_that_came_with_the_past() -> None:
    # The registry's sheet knows an older last test; by itself it would correct a later stated one.
    from tests.scheduling.loading import spreadsheets as sheets

    sheets.bring(sheets.row(Last_Test="5/10/2025"))
    made = sheets.only_assembly()
    bring(made.program, "A1,passed,2026-05-12,,,", header=HEADER, as_of=sheets.TODAY)
    report = sheets.bring(sheets.row(Last_Test="5/10/2025"))
    assert sheets.counts(report) == (0, 0, 1, 0)
    assert ("passed", date(2026, 5, 12), "stated") in live(made)


def test_a_test_before_the_installation_on_record_is_kept_as_stated_and_told() -> None:
    program, made = one(facts=(("installed", date(2020, 3, 1)),))
    report = bring(program, "S1,passed,2019-05-05,,,", "S1,passed,2020-03-02,,,")
    (told,) = report.base.warnings
    assert (told.row, told.value) == (2, "S1")
    assert "2019-05-05 lies before the installation on 2020-03-01" in told.message
    assert ("passed", date(2019, 5, 5), "stated") in live(made)
