"""The JSON of every command has every key it promises, and its counts add up."""

from __future__ import annotations

import csv
import io
from datetime import datetime

import pytest
from icalendar import Calendar

from tests.contract.conftest import AS_OF, Office

pytestmark = pytest.mark.xdist_group("office")

# fmt: off
EXPORTED = [
    "account", "premises", "address", "city", "state", "zip", "lat", "lon", "use", "hazard",
    "owner_name", "owner_address", "owner_city", "owner_state", "owner_zip", "owner_email",
    "service", "type", "maker", "model", "serial", "size_in", "location", "installed_on",
    "last_passed_on", "standing", "opens_on", "due_on", "notes",
]
REASON = {"date", "rule", "arithmetic", "citation"}
OBLIGATION = {"kind", "opens_on", "due_on", "cure_by", "closed_on", "closed_how"}
RESULT = {
    "row", "serial", "found", "near", "as_found", "outcome", "counts", "reasons", "warnings",
}
# fmt: on
LOADED = {"rows", "created", "updated", "unchanged", "rejected", "warnings", "columns"}
ENTRY = {"row", "column", "value", "message"}
EXPLAINED = {
    "assembly", "standing", "opens_on", "due_on", "next_rung", "obligations", "reasons", "warnings",
}  # fmt: skip
STANDINGS = {"removed", "exempt", "idle", "failed", "overdue", "untested", "due", "good"}
RUN = {
    "program", "as_of", "obligations_opened", "notices", "letters", "withdrawn",
    "waiting_for_release", "waiting_for_quota", "skipped",
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("dry", 1),  # one row has no size
        ("load", 1),
        ("again", 1),
        ("testers", 0),
        ("day", 0),
        ("day again", 0),
        ("every day", 0),
        ("plan", 0),
        ("calendar", 0),
        ("explain", 0),
        ("tests", 1),  # one test lies in the future
        ("csv", 0),
        ("json", 0),
        ("facts", 1),  # one fact lies in the future
        ("judge", 1),  # one row has a unit nobody knows
    ],
)
def test_the_exit_code_says_whether_all_was_done(office: Office, name: str, code: int) -> None:
    assert office.answers[name].returncode == code, office.answers[name].stderr


def test_a_load_counts_every_row_once(office: Office) -> None:
    said = office.json("load")
    assert set(said) == LOADED
    aside = {entry["row"] for entry in said["rejected"]}
    assert said["rows"] == 4
    assert said["rows"] == said["created"] + said["updated"] + said["unchanged"] + len(aside)
    assert aside == {5}  # the header is row 1


def test_what_is_set_aside_names_row_column_value_and_what_to_do(office: Office) -> None:
    (entry,) = office.json("load")["rejected"]
    assert set(entry) == ENTRY
    assert (entry["column"], entry["value"]) == ("size_in", "not a size")
    assert entry["message"]


def test_every_exported_name_is_a_header_that_a_load_knows(office: Office) -> None:
    columns = office.json("load")["columns"]
    assert {name: name for name in EXPORTED if name in columns} == columns


def test_a_dry_run_tells_the_same_and_makes_no_program(office: Office) -> None:
    dry, real = office.json("dry"), office.json("load")
    assert (dry["created"], dry["rejected"]) == (real["created"], real["rejected"])
    assert real["created"] == 3, "the dry run must have left nothing behind"


def test_the_same_file_again_changes_nothing(office: Office) -> None:
    said = office.json("again")
    assert (said["created"], said["updated"], said["unchanged"]) == (0, 0, 3)


def test_testers_answer_like_a_registry_load(office: Office) -> None:
    said = office.json("testers")
    assert set(said) == LOADED
    assert (said["rows"], said["created"]) == (1, 1)


def test_a_run_answers_in_counts(office: Office) -> None:
    said = office.json("day")
    assert set(said) == RUN
    assert (said["program"], said["as_of"]) == ("small", AS_OF)
    assert all(type(said[key]) is int for key in RUN - {"program", "as_of"})
    assert said["letters"] > 0


def test_the_letters_of_a_run_are_written_out(office: Office) -> None:
    files = list((office.folder / "letters").glob("*.pdf"))
    assert len(files) == office.json("day")["letters"]
    assert all(path.read_bytes().startswith(b"%PDF-") for path in files)


def test_a_second_run_of_a_day_repeats_nothing(office: Office) -> None:
    said = office.json("day again")
    assert (said["obligations_opened"], said["notices"], said["letters"]) == (0, 0, 0)


def test_a_run_of_all_programs_answers_in_a_list(office: Office) -> None:
    (said,) = office.json("every day")
    assert set(said) == RUN | {"error"}  # a list may hold refusals among the rest
    assert said["error"] is None


def test_a_plan_accounts_for_every_visit(office: Office) -> None:
    said = office.json("plan")
    assert set(said) == {
        "feasible", "visits", "planned", "unplanned", "drive_minutes", "work_minutes", "travel",
        "rounds", "minutes",
    }  # fmt: skip
    assert said["feasible"] is True
    assert said["visits"] == said["planned"] + len(said["unplanned"])
    assert said["planned"] == sum(len(day["stops"]) for day in said["rounds"]) > 0
    assert set(said["travel"]) == {"how", "factor", "speed"}


def test_a_round_says_who_when_and_where(office: Office) -> None:
    for day in office.json("plan")["rounds"]:
        assert set(day) == {"tester", "date", "start", "end", "lunch", "depot", "stops"}
        assert set(day["depot"]) == {"lat", "lon"}
        assert day["tester"] == "T-1"
        for stop in day["stops"]:
            assert set(stop) == {
                "premises", "lat", "lon", "arrive", "leave", "assemblies",
                "second_person", "by_zip",
            }  # fmt: skip
            arrive, leave = (datetime.fromisoformat(stop[key]) for key in ("arrive", "leave"))
            assert arrive.utcoffset() is not None
            assert datetime.fromisoformat(day["start"]) <= arrive < leave


def test_the_calendar_has_one_event_for_each_stop(office: Office) -> None:
    calendar = Calendar.from_ical(office.answers["calendar"].stdout)
    assert len(calendar.walk("VEVENT")) == office.json("plan")["planned"]


def test_an_explanation_has_every_key(office: Office) -> None:
    said = office.json("explain")
    assert set(said) == EXPLAINED
    assert said["assembly"] == "A100"
    assert said["standing"] == "overdue"  # an RP on high hazard, last passed a year ago
    assert said["due_on"] == "2026-05-10"
    assert all(set(reason) == REASON for reason in said["reasons"])
    for obligation in said["obligations"]:
        assert set(obligation) == OBLIGATION


def test_loaded_tests_are_found_judged_and_counted(office: Office) -> None:
    said = office.json("tests")
    assert set(said) == {"rows", "stored", "results", "rejected"}
    assert (said["rows"], said["stored"]) == (3, 2)
    results = {result["serial"]: result for result in said["results"]}
    for result in results.values():
        assert set(result) == RESULT
    assert (results["A100"]["outcome"], results["A100"]["counts"]) == ("pass", True)
    assert (results["A999"]["found"], results["A999"]["outcome"]) == (False, None)
    (entry,) = said["rejected"]
    assert set(entry) == ENTRY
    assert (entry["row"], entry["column"]) == (4, "Test Date")


def test_an_export_lists_every_field_in_its_order(office: Office) -> None:
    rows = list(csv.reader(io.StringIO(office.answers["csv"].stdout)))
    assert rows[0] == EXPORTED
    assert len(rows) == 1 + 3


def test_both_exports_say_the_same(office: Office) -> None:
    rows = list(csv.DictReader(io.StringIO(office.answers["csv"].stdout)))
    objects = office.json("json")
    assert [set(found) for found in objects] == [set(EXPORTED)] * 3
    for row, found in zip(rows, objects, strict=True):
        assert row["serial"] == found["serial"]
        assert row["due_on"] == (found["due_on"] or "")
        assert found["standing"] in STANDINGS
        assert found["lat"] is None or isinstance(found["lat"], float)


def test_the_calculator_answers_for_every_assembly(office: Office) -> None:
    said = {found["assembly"]: found for found in office.json("facts")}
    assert set(said) == {"one", "two"}
    assert all(set(found) == EXPLAINED for found in said.values())
    assert said["one"]["due_on"] == "2027-03-01"  # a year after the pass; the one after is to come
    assert said["one"]["standing"] == "good"


def test_a_verdict_has_every_key(office: Office) -> None:
    said = {verdict["id"]: verdict for verdict in office.json("judge")}
    for verdict in said.values():
        assert set(verdict) == {"id", "outcome", "criteria", "reasons", "warnings"}
        for criterion in verdict["criteria"]:
            assert set(criterion) == {"name", "reading", "limit", "met", "margin", "citation"}
    outcomes = {key: verdict["outcome"] for key, verdict in said.items()}
    assert outcomes == {"good": "pass", "gone": "fail", "odd": "refused"}
