"""A small program with two testing companies, five assemblies and a way to load reports."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from registry.domain.identity import maker_key, serial_key
from registry.models import (
    Approval,
    Assembly,
    Calibration,
    Certification,
    Firm,
    Gauge,
    Premises,
    Program,
    ServiceConnection,
    Tester,
)
from scheduling.actions.adoption import ensure_rulebooks, put_in_force
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind

AS_OF = date(2026, 11, 25)
MORNING = datetime(2026, 11, 25, 12, tzinfo=UTC)
INSTALLED_ON = date(2020, 6, 1)
ASSEMBLIES = [
    ("K925771", "Castlewell", "RP"),
    ("E214807", "Ironbridge", "PVB"),
    ("F988627", "Ironbridge", "DC"),
    ("C530549", "Tidemark", "RPDA"),
    ("A700001", "Northfork", "AVB"),
]

Row = Mapping[str, str]
Loaded = tuple[int, dict[str, Any], str]
Load = Callable[..., Loaded]

REPORT = {
    "Serial": "K925771",
    "Make": "Castlewell",
    "Test Date": "2026-11-20",
    "Tester Cert": "T-1000",
    "Gauge Serial": "G0770",
    "Initial RV": "2.6",
    "Initial CK1": "7.0",
    "CK2 Tight": "Y",
    "SOV2 Tight": "Y",
    "Repairs": "",
    "Final RV": "",
    "Final CK1": "",
    "Final CK2 Tight": "",
    "Result": "PASS",
}


@pytest.fixture
def program(db: None) -> Program:
    found = Program.objects.create(
        code="flats", name="Tamarack Flats", is_trial=True, created_at=MORNING
    )
    ensure_rulebooks()
    put_in_force(program=found, name="plain-rolling", effective_on=date(2020, 1, 1))
    premises = Premises.objects.create(program=found, key="p1", address="1 N Dogwood Ct")
    connection = ServiceConnection.objects.create(premises=premises)
    made = [
        Assembly.objects.create(
            program=found,
            premises=premises,
            connection=connection,
            type=kind,
            maker=maker,
            serial=serial,
            maker_key=maker_key(maker),
            serial_key=serial_key(serial),
            size_in=Decimal("0.75"),
            hazard="low",
            created_at=MORNING,
        )
        for serial, maker, kind in ASSEMBLIES
    ]
    facts = [NewFact(assembly_id=one.pk, kind=FactKind.INSTALLED, on=INSTALLED_ON) for one in made]
    record_facts(program=found, facts=facts, recorded_at=MORNING, by="test")
    replay_assemblies(program=found, assembly_ids=None, as_of=AS_OF)
    accept(found, certificate="T-1000", gauge="G0770", calibrated_on=date(2026, 2, 1))
    return found


def accept(
    program: Program,
    *,
    certificate: str,
    gauge: str,
    calibrated_on: date,
    valid_from: date = date(2024, 6, 30),
    valid_to: date = date(2027, 6, 30),
) -> None:
    """Put a tester and a gauge of a testing company into the program's record."""
    firm, _ = Firm.objects.get_or_create(key="stillbrook", name="Stillbrook Testing")
    tester = Tester.objects.create(firm=firm, certificate=certificate, name="Ansel Abernethy")
    kit = Gauge.objects.create(firm=firm, serial=gauge, serial_key=serial_key(gauge))
    Certification.objects.create(
        tester=tester, program=program, valid_from=valid_from, valid_to=valid_to
    )
    Calibration.objects.create(gauge=kit, program=program, calibrated_on=calibrated_on)
    Approval.objects.get_or_create(
        program=program,
        firm=firm,
        tester=None,
        gauge=None,
        defaults={"valid_from": valid_from},
    )
    Approval.objects.create(program=program, firm=firm, tester=tester, valid_from=valid_from)
    Approval.objects.create(program=program, firm=firm, gauge=kit, valid_from=valid_from)


@pytest.fixture
def load(program: Program, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Load:
    """Load rows, each the good report with what it says otherwise, and read the answer."""

    def run(*rows: Row, data: bytes | None = None, **options: Any) -> Loaded:
        path = tmp_path / "reports.csv"
        path.write_bytes(sheet(*rows).encode() if data is None else data)
        asked = {"program": program.code, "as_of": AS_OF, "json": True, **options}
        capsys.readouterr()
        code = 0
        try:
            call_command("load_tests", str(path), **asked)
        except SystemExit as end:
            code = int(end.code or 0)
        captured = capsys.readouterr()
        return code, json.loads(captured.out), captured.err

    return run


def sheet(*rows: Row) -> str:
    """Rows as a CSV text; a row lists only what differs from the good report."""
    headers = list(dict.fromkeys([*REPORT, *(name for row in rows for name in row)]))
    lines = [headers, *([{**REPORT, **row}.get(name, "") for name in headers] for row in rows)]
    return "".join(",".join(f'"{cell}"' for cell in line) + "\n" for line in lines)
