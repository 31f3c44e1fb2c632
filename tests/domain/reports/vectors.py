"""Cases of judging that the server and the device share, written from the published limits.

Run as a module, it writes fixtures/judging-vectors.json anew; a test holds the file to it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from itertools import product
from pathlib import Path
from typing import Any

from registry.domain.kinds import AssemblyType
from reports.domain.judging import PartReadings, judge
from reports.domain.limits_plain import bodies_plain, limits_plain
from reports.domain.readings import CellError, Reading, ReadingName, read_cell, read_unit
from tests.domain.reports.cases import EVERY_METHOD, limits
from tests.domain.reports.test_published_limits import VECTORS

FILE = Path(__file__).resolve().parents[3] / "fixtures" / "judging-vectors.json"
Cells = Mapping[str, str]

TYPES = ("RP", "DC", "PVB", "SVB", "RPDA", "DCDA", "RPDA-II", "DCDA-II")
EDGES = ("", "0.0", "0.9", "0.99", "1", "1.0", "1.95", "2.0", "2.1", "3.0", "5.0", "5.1", "leaked")
# Binary floating point makes 5.1 - 2.1, 5.6 - 2.6, 6.1 - 3.1 and 8.2 - 5.2 less than 3.
TRAPS = (("2.1", "5.1"), ("2.6", "5.6"), ("3.1", "6.1"), ("5.2", "8.2"), ("5.2", "5.2"))
# 2.0 psi is 13.789514 kPa: 13.8 meets it, 13.7 does not; 5.0 psi is 34.473785 kPa.
KPA = (("13.8", "34.5"), ("13.7", "34.5"), ("13.8", "34.4"), ("13.789514", "34.473785"))
CELLS = (
    (
        "relief",
        ("2,1", "2.", ".5", "+2.0", "-0", "-1", "1e3", "NaN", "2,1o", "200", "200.01", " 2.0 "),
    ),
    ("relief", ("did not open", "DID NOT OPEN", "leaked", "２.０", "1_000", "")),
    ("check1", ("leaked", "Leaked", "closed tight", "did not open", "7.40", "Not  reached")),
    ("check2_tight", ("yes", "Y", "leaked", "closed  tight", "2.0", "no")),
    ("air_inlet_full", ("yes", "no", "leaked")),
    ("shutoff2_tight", ("no flow", "No Flow", "holds")),
    ("shutoff1_tight", ("yes", "no", "closed tight", "no flow")),
)


def _said(kind: str, **cells: str) -> tuple[str, Cells]:
    return kind, {"shutoff2_tight": "yes", **cells}


def _cases() -> Iterator[tuple[str, Cells]]:
    for relief, check1, check2, *_ in VECTORS:
        tight = {} if check2 == "leaked" else {"check2_tight": "yes"}
        yield _said("RP", relief=relief, check1=check1, check2=check2, **tight)
    for relief, check1 in TRAPS:
        yield _said("RP", relief=relief, check1=check1, check2="1.0", check2_tight="yes")
    for relief, check1 in KPA:
        yield _said("RP", relief=relief, check1=check1, check2="7", check2_tight="yes", unit="kPa")
    for check1, check2 in product(EDGES, ("", "1.0", "0.9", "leaked", "closed tight")):
        yield _said("DC", check1=check1, check2=check2)
        yield _said("RP", relief="2.0", check1=check1, check2=check2)
    for inlet, check, full in product(("", "0.9", "1.0", "did not open"), EDGES, ("", "yes", "no")):
        yield _said("PVB", air_inlet=inlet, check=check, air_inlet_full=full)
        yield _said("SVB", air_inlet=inlet, check=check, air_inlet_full=full)
    for relief, held in product(("", "1.9", "2.0", "did not open"), ("", "yes", "no")):
        yield _said("RP", relief=relief, check1="6.0", check2_tight=held)
    for valve in ("no", "no flow", ""):
        yield "RP", {"relief": "2.4", "check1": "6", "check2_tight": "yes", "shutoff2_tight": valve}
    yield from _detectors()


def _detectors() -> Iterator[tuple[str, Cells]]:
    rp = {"relief": "2.4", "check1": "6.0", "check2": "1.2", "check2_tight": "yes"}
    for relief, check1 in product(("", "1.9", "2.4"), ("", "5.4", "6.0", "leaked")):
        bypass = {"bypass_relief": relief, "bypass_check1": check1, "bypass_check2": "1.2"}
        yield _said("RPDA", **rp, **bypass, bypass_check2_tight="yes", meter_moved="yes")
    for moved in ("yes", "no", ""):
        both = {"bypass_check1": "1.0", "bypass_check2": "1.0", "meter_moved": moved}
        yield _said("DCDA", check1="1.0", check2="1.1", **both)
    yield _said("RP", **rp, check1_tight="yes", shutoff1_tight="no")
    for check1 in ("", "0.9", "1.0", "leaked"):
        yield _said("RPDA-II", **rp, bypass_check1=check1, meter_moved="no")
        yield _said("DCDA-II", check1="1.0", check2="1.1", bypass_check1=check1)
        yield _said("DCDA", check1="1.0", check2="1.1", bypass_check1=check1, bypass_check2="1.0")
    yield _said("DCDA", check1="1.0", check2="1.1", bypass_check1="1", bypass_check2_tight="no")
    yield _said("DC", check1="1.0", check2="1.1", check1_tight="no")


def part_of(kind: str, cells: Cells) -> PartReadings:
    """The readings of a case as the judge takes them."""
    readings: dict[ReadingName, Reading] = {}
    for name, text in cells.items():
        if name != "unit":
            reading = ReadingName(name)
            readings[reading] = read_cell(name=reading, column=name, text=text).reading
    unit = read_unit(column="unit", text=cells.get("unit", ""))
    return PartReadings(assembly_type=AssemblyType(kind), unit=unit, readings=readings)


def _cell(name: str, text: str) -> dict[str, Any]:
    try:
        reading = read_cell(name=ReadingName(name), column=name, text=text).reading
    except CellError:
        return {"name": name, "text": text, "fault": True, "reading": None}
    told = None if reading is None else f"{reading:f}" if not isinstance(reading, str) else reading
    return {"name": name, "text": text, "fault": False, "reading": str(told) if told else None}


def _vector(method: str, kind: str, cells: Cells) -> dict[str, Any]:
    found = judge(limits(method), part_of(kind, cells))
    criteria = [
        {name: value for name, value in one.plain().items() if name != "citation"}
        for one in found.criteria
    ]
    return {
        "method": method,
        "type": kind,
        "cells": dict(cells),
        "outcome": found.outcome.value,
        "criteria": criteria,
    }


def vectors() -> dict[str, Any]:
    """Everything both sides need: limits, bodies, cases with their verdicts, and cells."""
    cases = list(_cases())
    return {
        "limits": {method: limits_plain(limits(method)) for method in EVERY_METHOD},
        "bodies": {kind: bodies_plain(AssemblyType(kind)) for kind in TYPES},
        "cells": [_cell(name, text) for name, texts in CELLS for text in texts],
        "cases": [_vector(method, kind, cells) for method in EVERY_METHOD for kind, cells in cases],
    }


def text() -> str:
    """The file's text: one case a line."""
    told = vectors()
    parts = [
        f'"{name}": {json.dumps(told[name], ensure_ascii=False)}' for name in ("limits", "bodies")
    ]
    for name in ("cells", "cases"):
        lines = ",\n".join(json.dumps(one, ensure_ascii=False) for one in told[name])
        parts.append(f'"{name}": [\n{lines}\n]')
    return "{\n" + ",\n".join(parts) + "\n}\n"


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
