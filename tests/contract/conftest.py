"""A small office, made by the commands alone, whose every answer is kept for the tests."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.own_database import DatabaseMaker, run_manage

AS_OF = "2026-11-25"

REGISTRY = """\
account,premises,address,city,state,zip,lat,lon,use,hazard,owner_name,owner_address,owner_city,\
owner_state,owner_zip,owner_email,service,type,maker,model,serial,size_in,location,installed_on,\
last_passed_on,notes
1001-01,Larkspur Bakery,12 Larkspur Ln,Tamarack Flats,WA,99171,46.85,-118.24,Bakery,high,\
Larkspur Bakery,12 Larkspur Ln,Tamarack Flats,WA,99171,,domestic,RP,Northfork,N1,A100,0.75,\
riser room,2020-03-01,2025-11-10,
1002-01,Yarrow Laundry,40 Yarrow Ct,Tamarack Flats,WA,99171,46.86,-118.25,Laundry,low,\
Quillfeather & Sons,PO Box 9,Tamarack Flats,WA,99171,,domestic,DC,Northfork,N2,A200,1,\
vault,2019-06-15,2026-08-02,
1003-01,Sorrel Park,5 Sorrel Rd,Tamarack Flats,WA,99171,46.87,-118.26,Park,low,\
Sorrel Park Trust,5 Sorrel Rd,Tamarack Flats,WA,99171,,irrigation,PVB,Castlewell,C1,B300,1,\
N side,2018-04-20,2024-05-05,
1004-01,Alder Row,8 Alder Row,Tamarack Flats,WA,99171,46.88,-118.27,Homes,low,\
Alder Row LLC,8 Alder Row,Tamarack Flats,WA,99171,,domestic,DC,Castlewell,C2,B400,not a size,\
vault,2018-04-20,2026-05-05,
"""

TESTERS = """\
Certificate,Name,Firm,Issued By,Valid From,Valid To,Gauge Serial,Gauge Calibrated
T-1,Ansel Abernethy-Holt,Stillbrook Testing,State,2024-06-30,2027-06-30,G1,2026-02-01
"""

TESTS = """\
Serial,Make,Test Date,Tester Cert,Gauge Serial,Line PSI,Initial RV,Initial CK1,Initial CK2,\
CK2 Tight,SOV2 Tight,Result,Initial Air Inlet,Initial Check
A100,Northfork,2026-11-20,T-1,G1,80,3.0,6.2,2.4,Y,Y,PASS,,
A999,Northfork,2026-11-20,T-1,G1,80,3.0,6.2,2.4,Y,Y,PASS,,
B300,Castlewell,2027-01-05,T-1,G1,80,,,,,Y,PASS,1.5,1.4
"""

FACTS = """\
assembly,type,hazard,service,protects,fact,on
one,RP,low,domestic,main,installed,2024-03-01
one,,,,,passed,2026-03-01
one,,,,,passed,2026-12-24
two,DC,,,,,
"""

READINGS = """\
id,type,unit,relief,check1,check2,check1_tight,check2_tight,air_inlet,air_inlet_full,check,\
shutoff2_tight
good,RP,psid,3.0,6.2,,,yes,,,,yes
gone,RP,psid,did not open,6.2,,,yes,,,,yes
odd,RP,bar,3.0,6.2,,,yes,,,,yes
"""


@dataclass
class Office:
    """The database, the folder with the files, and what every command answered."""

    database: str
    folder: Path
    answers: dict[str, subprocess.CompletedProcess[str]] = field(default_factory=dict)

    def run(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run a command and return what came of it, whatever its exit code."""
        return run_manage(*arguments, database=self.database, check=False)

    def keep(self, name: str, *arguments: str) -> None:
        """Run a command and keep its answer under a name."""
        self.answers[name] = self.run(*arguments)

    def file(self, name: str, text: str) -> str:
        """Write a file and return its path."""
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return str(path)

    def json(self, name: str) -> Any:
        """Return the JSON that a kept answer holds; standard output must hold nothing else."""
        answer = self.answers[name]
        assert answer.stdout, f"{name} said nothing; on standard error: {answer.stderr}"
        return json.loads(answer.stdout)


@pytest.fixture(scope="package")
def office(_databases: DatabaseMaker, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """Load, run, plan, judge, export: in the order an outside caller would."""
    with _databases.fresh() as address:
        made = Office(database=address, folder=tmp_path_factory.mktemp("office"))
        _fill(made)
        yield made


def _fill(office: Office) -> None:
    registry = office.file("registry.csv", REGISTRY)
    program, day = ("--program", "small"), ("--as-of", AS_OF)
    office.keep("dry", "load_registry", registry, *program, *day, "--dry-run", "--json")
    office.keep("load", "load_registry", registry, *program, *day, "--json")
    office.keep("again", "load_registry", registry, *program, *day, "--json")
    office.keep("testers", "load_testers", office.file("t.csv", TESTERS), *program, *day, "--json")
    letters = str(office.folder / "letters")
    office.keep("day", "run_day", *program, *day, "--out", letters, "--json")
    office.keep("day again", "run_day", *program, *day, "--json")
    office.keep("every day", "run_day", "--program", "all", *day, "--json")
    planning = ("--from", "2026-11-30", "--days", "3", "--iterations", "50", "--seed", "1")
    office.keep("plan", "plan_rounds", *program, *planning, "--json")
    office.keep("calendar", "export_calendar", *program, "--tester", "T-1")
    office.keep("explain", "explain", "A100", *program, *day, "--json")
    office.keep("tests", "load_tests", office.file("f.csv", TESTS), *program, *day, "--json")
    office.keep("csv", "export_registry", *program, *day, "--format", "csv")
    office.keep("json", "export_registry", *program, *day, "--format", "json")
    facts = office.file("facts.csv", FACTS)
    office.keep("facts", "replay_facts", facts, "--rulebook", "plain-rolling", *day, "--json")
    readings = office.file("readings.csv", READINGS)
    office.keep("judge", "judge", readings, "--method", "usc10", "--json")
