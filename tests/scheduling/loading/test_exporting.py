"""What leaves as CSV or JSON: safe in a spreadsheet, and the same when it comes back."""

import csv
import io
import json
from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from registry.domain.fields import EXPORTED
from registry.models import Assembly, Party, Premises
from scheduling.loading.exports import write_csv
from tests.scheduling.loading.spreadsheets import CODE, bring, bring_bytes, counts, row

pytestmark = pytest.mark.django_db

NASTY = ["=1+1", "+cmd|' /C calc'!A0", "-2", "@SUM(1)", "\ttab", "\rreturn", "'leading", "'=1+1",
         "''-2", "a, b; c", 'say "hi"', "Łukowa", "<img src=x>"]  # fmt: skip


def exported(how: str = "csv", as_of: str = "2026-11-25") -> str:
    out = StringIO()
    call_command(
        "export_registry", "--program", CODE, "--format", how, "--as-of", as_of, stdout=out
    )
    return out.getvalue()


def test_the_columns_are_those_promised() -> None:
    bring(row())
    names = (
        "account,premises,address,city,state,zip,lat,lon,use,hazard,owner_name,owner_address,"
        "owner_city,owner_state,owner_zip,owner_email,service,type,maker,model,serial,size_in,"
        "location,installed_on,last_passed_on,standing,opens_on,due_on,notes"
    )
    assert exported().split("\r\n")[0] == names
    assert ",".join(field.value for field in EXPORTED) == names
    assert ",".join(json.loads(exported("json"))[0]) == names


def test_json_holds_numbers_for_coordinates_text_for_sizes_and_null_for_what_is_unknown() -> None:
    bring(row(Comments="", E_mail="", Size="1 1/2") | {"E-mail": ""})
    found = json.loads(exported("json"))[0]
    assert (found["lat"], found["lon"], found["size_in"]) == (46.85, -118.24, "1.5")
    assert (found["notes"], found["owner_email"], found["use"]) == (None, None, None)
    assert (found["installed_on"], found["last_passed_on"]) == ("2020-03-01", "2026-05-10")
    assert found["hazard"] == "high"


def test_what_is_not_assessed_is_never_exported_as_high() -> None:
    bring(row(Hazard="?"))
    assert json.loads(exported("json"))[0]["hazard"] == "not assessed"


def test_removed_assemblies_are_exported_and_stay_removed() -> None:
    bring(row(Status="Removed"))
    assert json.loads(exported("json"))[0]["standing"] == "removed"
    assert counts(bring_bytes(exported().encode())) == (0, 0, 1, 0)
    assert json.loads(exported("json"))[0]["standing"] == "removed"


def test_no_cell_of_an_export_starts_a_formula_and_all_come_back_as_they_were() -> None:
    numbers = range(len(NASTY))
    bring(*(row(Serial=f"S{n}", Acct=f"{n}", Svc_Addr=f"{n} Elm St") for n in numbers))
    for number, text in enumerate(NASTY):
        assembly = Assembly.objects.get(serial=f"S{number}")
        Assembly.objects.filter(pk=assembly.pk).update(
            location=text, notes=text, model=text, maker=text, serial=text
        )
        Premises.objects.filter(pk=assembly.premises_id).update(name=text, use=text)
    Party.objects.update(name=NASTY[0], city=NASTY[2])
    rows = list(csv.reader(io.StringIO(exported(), newline="")))
    figures = {"lat", "lon", "size_in"}
    for cells in rows[1:]:
        for name, cell in zip(rows[0], cells, strict=True):
            assert name in figures or not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert rows[1][rows[0].index("lon")] == "-118.240000"


@pytest.mark.parametrize("text", NASTY)
def test_a_nasty_cell_comes_in_goes_out_and_comes_back_without_a_change(text: str) -> None:
    nasty = row(Location=text, Comments=text, Model=text, Make=text, Serial=text, Customer=text,
                Owner_Name=text, Mailing_Address=text, Mail_City=text, City=text)  # fmt: skip
    first = bring(nasty)
    assert first.created == 1
    before = exported("json")
    back = bring_bytes(exported().encode())
    assert counts(back) == (0, 0, 1, 0)
    assert exported("json") == before


@given(texts=st.lists(st.text(max_size=20), min_size=9, max_size=9))
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture],
          deadline=None)  # fmt: skip
def test_any_text_stored_comes_back_from_its_own_export_without_a_change(texts: list[str]) -> None:
    code = "any"
    names = ["Location", "Comments", "Model", "Make", "Serial", "Customer", "Owner Name",
             "Mailing Address", "City"]  # fmt: skip
    report = bring(row() | dict(zip(names, texts, strict=True)), code=code)
    assert report.rows == 1
    out = StringIO()
    call_command("export_registry", "--program", code, "--format", "csv",
                 "--as-of", "2026-11-25", stdout=out)  # fmt: skip
    back = bring_bytes(out.getvalue().encode(), code=code)
    assert (back.created, back.updated) == (0, 0)


def test_standings_and_due_dates_that_differ_are_told_and_not_taken() -> None:
    bring(row())
    text = exported()
    back = bring_bytes(text.replace(",overdue,", ",good,").encode())
    assert counts(back) == (0, 0, 1, 0)
    later = bring(row() | {"Next Test Due": "12/31/2030"})
    assert [warning.column for warning in later.warnings] == ["Next Test Due"]
    assert "2026-11-10" in later.warnings[0].message  # six months after 10 May: RP, high hazard


def test_an_export_of_an_earlier_day_loaded_as_of_that_day_takes_nothing_back() -> None:
    bring(row(Last_Test="5/10/2024"))
    bring(row(Last_Test="5/10/2026"))
    text = exported(as_of="2025-01-01")
    assert "2024-05-10" in text
    back = bring_bytes(text.encode(), as_of=date(2025, 1, 1))
    assert counts(back) == (0, 0, 1, 0)


def test_an_empty_program_exports_its_header_alone() -> None:
    out = StringIO()
    write_csv(rows=[], out=out)
    assert out.getvalue().count("\n") == 1
