"""The program a load goes into: made, found, or refused; and what the commands answer."""

import json
from datetime import UTC, date, datetime
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from registry.domain.kinds import DateOrder
from registry.models import Program, SavedHeader
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.loading.openings import Wanted
from scheduling.loading.registry_load import load_registry
from scheduling.models import Adoption, Fact, Obligation, Rulebook
from tests.scheduling.loading.spreadsheets import NOW, bring, row, sheet

pytestmark = pytest.mark.django_db


def load(wanted: Wanted, *, data: bytes | None = None) -> None:
    load_registry(
        source=SourceFile(name="registry.csv", data=data or sheet(row())),
        wanted=wanted,
        now=NOW,
        by="a test",
    )


def test_a_program_that_does_not_exist_is_made_with_the_usual_choices() -> None:
    load(Wanted(code="alder"))
    program = Program.objects.get()
    assert (program.zone, program.date_order) == ("UTC", DateOrder.MONTH_FIRST)
    assert (program.is_trial, program.go_live_on) == (False, None)
    assert Adoption.objects.get().rulebook.name == "plain-rolling"
    assert set(Fact.objects.values_list("recorded_at", flat=True)) == {NOW}
    assert Obligation.objects.exists()


def test_made_with_a_day_it_is_a_trial_whose_records_carry_that_day() -> None:
    load(Wanted(code="alder", as_of=date(2026, 3, 8), zone="America/Los_Angeles"),
         data=sheet(row(Last_Test="1/5/2026")))  # fmt: skip
    program = Program.objects.get()
    assert program.is_trial
    # noon in Los Angeles on the day the clocks went forward is 19:00 in Greenwich
    noon = datetime(2026, 3, 8, 19, tzinfo=UTC)
    assert set(Fact.objects.values_list("recorded_at", flat=True)) == {noon}
    assert program.created_at == noon


def test_today_is_the_day_in_the_programs_zone() -> None:
    # NOW is 20:00 on 25 November in Greenwich, already the 26th in Auckland
    load(Wanted(code="alder", zone="Pacific/Auckland"), data=sheet(row(Last_Test="11/26/2026")))
    assert Fact.objects.filter(on=date(2026, 11, 26)).exists()
    load(Wanted(code="birch"), data=sheet(row(Last_Test="11/26/2026")))
    assert not Fact.objects.filter(program__code="birch").exists()


@pytest.mark.parametrize(
    ("wanted", "says"),
    [
        (Wanted(code="alder", rulebook="plain-season"), "plain-rolling"),
        (Wanted(code="alder", zone="America/Denver"), "UTC"),
        (Wanted(code="birch", rulebook="no-such"), "no-such"),
        (Wanted(code="birch", zone="Mars/Olympus"), "no time zone"),
        (Wanted(code="bir ch"), "code"),
        (Wanted(code=""), "code"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_made(wanted: Wanted, says: str) -> None:
    load(Wanted(code="alder"))
    with pytest.raises(LoadRefusedError, match=says):
        load(wanted, data=sheet(row(Serial="NEW")))
    assert [program.code for program in Program.objects.all()] == ["alder"]
    assert not Fact.objects.filter(assembly__serial="NEW").exists()


def test_the_rulebook_and_zone_a_program_has_may_be_named_again() -> None:
    load(Wanted(code="alder", rulebook="plain-season", zone="America/Denver"))
    load(Wanted(code="alder", rulebook="plain-season", zone="America/Denver"))
    assert Adoption.objects.count() == 1


def test_a_rulebook_with_gaps_is_refused_with_the_gaps_listed() -> None:
    load(Wanted(code="alder"))
    shipped = Rulebook.objects.get(name="plain-season")
    Rulebook.objects.create(name="half-done", title="Half", text=shipped.text, sha256="x",
                            gaps=["the ladder's last rung"], loaded_at=NOW)  # fmt: skip
    with pytest.raises(LoadRefusedError, match="the ladder's last rung"):
        load(Wanted(code="birch", rulebook="half-done"))
    assert not Program.objects.filter(code="birch").exists()


def test_a_programs_date_order_and_saved_headers_are_obeyed() -> None:
    load(Wanted(code="alder"))
    Program.objects.update(date_order=DateOrder.DAY_FIRST)
    SavedHeader.objects.create(program=Program.objects.get(), header="TAG", field="serial")
    data = sheet(row(Last_Test="3/4/2026") | {"Tag": "T7"})
    load(Wanted(code="alder"), data=data)
    assert Fact.objects.get(assembly__serial="T7", kind="passed").on == date(2026, 4, 3)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "registry.csv"
    path.write_bytes(sheet(row(), row(Serial="A2", Size="big")))
    return path


def run(*arguments: str) -> tuple[int, Any, str]:
    out, err = StringIO(), StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=err)
    except SystemExit as exit_:
        return int(exit_.code or 0), json.loads(out.getvalue()), err.getvalue()
    return 0, json.loads(out.getvalue()), err.getvalue()


def test_the_command_answers_as_promised(file: Path) -> None:
    code, said, _ = run("load_registry", str(file), "--program", "alder", "--as-of", "2026-11-25",
                        "--json")  # fmt: skip
    assert code == 1
    assert list(said) == [
        "rows", "created", "updated", "unchanged", "rejected", "warnings", "columns",
    ]  # fmt: skip
    assert [list(fault) for fault in said["rejected"]] == [["row", "column", "value", "message"]]
    assert (said["rows"], said["created"]) == (2, 1)
    assert said["columns"]["Last Test"] == "last_passed_on"


def test_the_command_ends_with_0_when_every_row_landed(file: Path) -> None:
    file.write_bytes(sheet(row(Hazard="?")))
    code, said, _ = run("load_registry", str(file), "--program", "alder", "--json")
    assert code == 0
    assert len(said["warnings"]) == 1


def test_a_dry_run_makes_no_program(file: Path) -> None:
    code, said, _ = run("load_registry", str(file), "--program", "alder", "--dry-run", "--json")
    assert (code, said["created"]) == (1, 1)
    assert not Program.objects.exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("load_registry", "missing.csv", "--program", "alder"),
        ("load_registry", ".", "--program", "alder"),
        ("export_registry", "--program", "nobody", "--format", "csv"),
        ("load_testers", "missing.csv", "--program", "nobody"),
    ],
)
def test_the_commands_end_with_2_and_a_sentence_when_nothing_was_done(
    arguments: tuple[str, ...],
) -> None:
    out, err = StringIO(), StringIO()
    as_json = () if arguments[0] == "export_registry" else ("--json",)
    with pytest.raises(SystemExit) as ended:
        call_command(*arguments, *as_json, stdout=out, stderr=err)
    assert ended.value.code == 2
    assert err.getvalue().strip().endswith(".")
    if as_json:
        assert list(json.loads(out.getvalue())) == ["error"]


def test_people_are_told_equal_causes_once(file: Path) -> None:
    out = StringIO()
    file.write_bytes(sheet(*(row(Serial=f"S{n}", Size="big") for n in range(9))))
    with pytest.raises(SystemExit):
        call_command("load_registry", str(file), "--program", "alder", stdout=out)
    told = [line for line in out.getvalue().splitlines() if "big" in line]
    cause = "  Size: 'big' is no size; write inches, as 3/4, 1 1/2 or 2. "
    assert told == [cause + "(row 2, 3, 4, 5, 6, 7 and 3 more)"]


def test_two_programs_keep_the_same_serial_apart() -> None:
    bring(row(), code="alder")
    assert bring(row(), code="birch").created == 1
