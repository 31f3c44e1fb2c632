"""The demo's registry, testers and reports, loaded in their order by the commands."""

from __future__ import annotations

import csv
import json
from collections import Counter
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from registry.domain.identity import serial_key
from reports.models import FieldTest
from scheduling.models import AssemblyState, Fact

DEMO = Path(__file__).resolve().parents[2] / "fixtures" / "demo"


def run(capsys: pytest.CaptureFixture[str], command: str, name: str) -> dict[str, Any]:
    capsys.readouterr()
    with suppress(SystemExit):  # rows set aside end a command with 1
        call_command(command, str(DEMO / name), program="demo", as_of=date(2026, 11, 25), json=True)
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


@pytest.mark.slow
@pytest.mark.django_db
def test_every_doubtful_row_of_the_demo_is_named_for_its_reason(
    capsys: pytest.CaptureFixture[str],
) -> None:
    run(capsys, "load_registry", "registry.csv")
    run(capsys, "load_testers", "testers.csv")
    answer = run(capsys, "load_tests", "tests.csv")
    assert (answer["rows"], answer["stored"], answer["rejected"]) == (342, 342, [])
    with (DEMO / "tests.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    found = {result["row"]: result for result in answer["results"]}
    for number, row in enumerate(rows, start=2):
        result = found[number]
        # testers.csv: certificates T-1005 and T-1006 ended on 31 March 2026, and the gauges of
        # T-1004 to T-1006 were last calibrated on 15 January 2025; every test is of November 2026.
        stale = row["Tester Cert"] in {"T-1004", "T-1005", "T-1006"}
        told = " ".join(result["reasons"])
        assert ("holds 12 months" in told) is stale
        assert ("ended on 2026-03-31" in told) is (row["Tester Cert"] in {"T-1005", "T-1006"})
        assert result["counts"] is (result["found"] and not stale)
        if not result["found"]:
            assert [serial_key(one) for one in result["near"]] == [row["Serial"][::-1]]
    assert Counter(result["found"] for result in answer["results"]) == {True: 338, False: 4}
    facts = Counter(Fact.objects.filter(source="field test").values_list("kind", flat=True))
    counting = [result for result in answer["results"] if result["counts"]]
    assert facts == Counter(
        "passed" if result["outcome"] == "pass" else "failed" for result in counting
    )
    failed = AssemblyState.objects.filter(failed_on__isnull=False)
    assert failed.count() == facts["failed"]
    waiting = FieldTest.objects.filter(waits_for_person=True)
    assert waiting.count() == 4 + sum(
        result["found"] and not result["counts"] for result in answer["results"]
    )
    assert run(capsys, "load_tests", "tests.csv")["stored"] == 0
