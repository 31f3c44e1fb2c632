"""Two loads of one file at the same moment: one after the other, or one is told to come again."""

import json
from pathlib import Path

import pytest

from tests.own_database import run_manage, start_manage
from tests.scheduling.loading.spreadsheets import row, sheet


@pytest.mark.postgres
def test_two_loads_at_once_make_every_assembly_once(own_database: str, tmp_path: Path) -> None:
    file = tmp_path / "registry.csv"
    file.write_bytes(sheet(*(row(Serial=f"S{n}", Acct=f"{n}") for n in range(120))))
    load = ("load_registry", str(file), "--program", "alder", "--as-of", "2026-11-25", "--json")
    both = [start_manage(*load, database=own_database) for _ in range(2)]
    for process in both:
        process.communicate(timeout=120)
    codes = sorted(process.returncode for process in both)
    assert codes in ([0, 0], [0, 2])
    again = run_manage(*load, database=own_database)
    said = json.loads(again.stdout)
    assert (said["created"], said["unchanged"]) == (0, 120)
