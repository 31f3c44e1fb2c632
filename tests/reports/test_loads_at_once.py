"""Two loads of one file at once keep every report once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.own_database import run_manage, start_manage

AS_OF = ("--as-of", "2026-11-25")
PROGRAM = ("--program", "small")
REGISTRY = (
    "account,address,city,state,zip,hazard,owner_name,type,maker,serial,size_in,installed_on\n"
    "1,12 Larkspur Ln,Tamarack Flats,WA,99171,low,Alder Row,DC,Northfork,A100,1,2020-03-01\n"
)
TESTERS = (
    "Certificate,Name,Firm,Issued By,Valid From,Valid To,Gauge Serial,Gauge Calibrated\n"
    "T-1,Ansel Abernethy-Holt,Stillbrook Testing,State,2024-06-30,2027-06-30,G1,2026-02-01\n"
)


def reports() -> str:
    lines = [
        f"A100,Northfork,2026-{month:02d}-{day:02d},T-1,G1,2.0,2.0,Y"
        for month in (9, 10, 11)
        for day in range(1, 21)
    ]
    header = "Serial,Make,Test Date,Tester Cert,Gauge Serial,Initial CK1,Initial CK2,SOV2 Tight"
    return "\n".join([header, *lines]) + "\n"


@pytest.mark.slow
def test_two_loads_at_once_store_each_report_and_bring_each_fact_once(
    own_database: str, tmp_path: Path
) -> None:
    files = {"registry.csv": REGISTRY, "testers.csv": TESTERS, "tests.csv": reports()}
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    for command, name in (("load_registry", "registry.csv"), ("load_testers", "testers.csv")):
        run_manage(command, str(tmp_path / name), *PROGRAM, *AS_OF, database=own_database)
    load = ("load_tests", str(tmp_path / "tests.csv"), *PROGRAM, *AS_OF, "--json")
    started = [start_manage(*load, database=own_database) for _ in range(2)]
    answers = [json.loads(process.communicate()[0]) for process in started]
    assert [process.returncode for process in started] == [0, 0]
    assert sum(answer["stored"] for answer in answers) == 60
    assert {answer["stored"] for answer in answers} == {0, 60}
    tested = "Fact.objects.filter(source='field test').count()"
    asked = f"from scheduling.models import Fact; print({tested})"
    counted = run_manage("shell", "-v0", "-c", asked, database=own_database)
    assert counted.stdout.split()[-1] == "60"
