"""The pieces of work that are measured: pure rules, and commands on the demo's files."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

from config.demo import district
from registry.sheets import read_sheet
from tests.bench.stopwatch import Measure, measure
from tests.own_database import DatabaseMaker, run_manage

DAY = ("--as-of", district.AS_OF.isoformat())
OFFICE = ("--program", district.CODE)
WEEK = (
    *("--from", district.WEEK_FROM.isoformat()),
    *("--days", str(district.WEEK_DAYS)),
    *("--iterations", "500", "--seed", "1"),
)


def yardstick() -> Measure:
    """Something every machine does alike: a digest of a megabyte, a hundred times over."""
    block = b"x" * 1_000_000

    def work() -> None:
        for _ in range(100):
            hashlib.sha256(block).digest()

    return measure("yardstick: 100 MB through SHA-256", work)


def reading() -> Measure:
    """Read the demo's spreadsheet into records."""
    rows = len(read_sheet(district.REGISTRY).records)
    return measure("read the spreadsheet", lambda: read_sheet(district.REGISTRY), items=rows)


def office(maker: DatabaseMaker, *, folder: Path) -> list[Measure]:
    """The demo's loop and a second day, each command in a process of its own."""
    load = ("load_registry", str(district.REGISTRY), *OFFICE, *DAY)
    next_day = ("--as-of", date.fromordinal(district.AS_OF.toordinal() + 1).isoformat())
    commands = {
        "start of a process": ("check",),
        "load 2,400 rows": load,
        "load them again": load,
        "run the day": ("run_day", *OFFICE, *DAY, "--out", str(folder)),
        "run it again": ("run_day", *OFFICE, *DAY),
        "run the next day": ("run_day", *OFFICE, *next_day),
        "load the testers": ("load_testers", str(district.TESTERS), *OFFICE, *DAY),
        "plan a week, 500 iterations": ("plan_rounds", *OFFICE, *WEEK),
        "load 342 field tests": ("load_tests", str(district.TESTS), *OFFICE, *DAY),
        "export the registry": ("export_registry", *OFFICE, *DAY, "--format", "csv"),
    }
    with maker.fresh() as address:
        return [_command(name, address, *command) for name, command in commands.items()]


def _command(name: str, address: str, *command: str) -> Measure:
    def work() -> None:
        done = run_manage(*command, database=address, check=False)
        if done.returncode > 1:
            raise RuntimeError(f"{command[0]}: {done.stderr}")

    # Once each: a second run of a load or a day is another piece of work.
    return measure(name, work, times=1)
