"""The table of a large registry: every row beside its limit, on one engine, with the memory."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from typing import Any

from tests.own_database import ROOT, environment_for

CLOCK = os.environ.get("BENCH_CLOCK", "")

MEGABYTES = 500
JUDGED_FROM = 200_000
"""Assemblies from which the ratios are judged: below, what every run costs once drowns them."""

NO_DATABASE = "sqlite:///:memory:"

STEPS = ("day", "reads", "rules", "histories", "replay", "board")


def speed_of(address: str, *, size: int) -> bool:
    """Fill a database, measure, print the table; return whether every limit was kept.

    Of a registry smaller than JUDGED_FROM the table is printed and only its memory is judged.
    """
    filled = _step("fill", address=address, size=size)
    _say(f"{size:,} assemblies written in {filled['seconds']:.0f} s;"
         f" replay agrees on {filled['agreed']} of them")  # fmt: skip
    is_judged = size >= JUDGED_FROM
    if not is_judged:
        _say(f"ratios are judged from {JUDGED_FROM:,} assemblies on; here they are only told")
    if CLOCK == "processor":
        _say("by processor time of the process and its session of the database")
    _say(f"{'':<46}{'took':>12}{'limit':>12}{'ratio':>8}{'reach':>7}{'MB':>6}")
    kept = True
    reads: list[dict[str, int]] = []
    for name in STEPS:
        told = _step(name, address=address, size=size)
        reads += [told["reads"]] if "reads" in told else []
        for row in told.get("rows", ()):
            kept &= _tell(row, megabytes=told["megabytes"], is_judged=is_judged)
    if reads:
        _step("fill-quietly", address=address, size=size)
        reads.append(_step("reads", address=address, size=size)["reads"])
        kept &= _tell_reads(*reads) or not is_judged
    return kept


def field_tests_of(address: str) -> bool:
    """Bring in ten thousand field tests; return whether the limit was kept."""
    told = _told("tests.bench.fieldtests", "10000", address=address)
    return all(_tell(row, megabytes=told["megabytes"]) for row in told["rows"])


def letters_of(*, many: int) -> bool:
    """Draw letters and gather them, then so many by two processes; whether all limits were kept."""
    sys.stdout.write("\nLetters\n")
    told = _told("tests.bench.letters", address=NO_DATABASE)
    kept = [_tell(row, megabytes=told["megabytes"]) for row in told["rows"]]
    with tempfile.TemporaryDirectory() as folder:
        drawn = _told("tests.bench.many_letters", str(many), folder, address=NO_DATABASE)
    is_flat = bool(drawn["is_flat"])
    _say(
        f"{f'{many:,} letters into files, two processes':<46}{drawn['seconds']:>9.3f} s "
        f"{drawn['a_second']} a second, {drawn['megabytes_first_half']} MB after the first half, "
        f"{drawn['megabytes']} MB at the end{'' if is_flat else '  OVER'}"
    )
    return all(kept) and is_flat


def notices_of(address: str, *, number: int) -> bool:
    """Record so many notices in a database of its own; return whether the limit was kept."""
    told = _told("tests.bench.noting", str(number), address=address)
    return all(_tell(row, megabytes=told["megabytes"]) for row in told["rows"])


def _step(name: str, *, address: str, size: int) -> Any:
    return _told("tests.bench.million", name, str(size), address=address)


def _told(*module: str, address: str) -> Any:
    done = subprocess.run(
        [sys.executable, "-m", *module],
        env=environment_for(address),
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode and not done.stdout.strip():
        raise RuntimeError(f"{module}: {done.stderr[-3000:]}")
    return json.loads(done.stdout.splitlines()[-1])


def _tell(row: dict[str, Any], *, megabytes: float, is_judged: bool = True) -> bool:
    ratio = row["seconds"] / row["limit"]
    is_within = ratio <= row["reach"] and megabytes <= MEGABYTES
    unit, mark = row["unit"], "" if is_within else "  OVER"
    _say(
        f"{row['name']:<46}{row['seconds']:>9.3f} {unit:<2}{row['limit']:>9.3f} {unit:<2}"
        f"{ratio:>8.2f}{row['reach']:>7.3g}{megabytes:>6.0f}{mark}  {row['note']}"
    )
    return is_within or (not is_judged and megabytes <= MEGABYTES)


def _tell_reads(before: dict[str, int], after: dict[str, int]) -> bool:
    kept = True
    for what in ("rows", "buffers"):
        ratio = after[what] / before[what]
        kept &= ratio <= 1.15
        name = f"the day's {what} read, twice the registry"
        mark = "" if ratio <= 1.15 else "  OVER"
        _say(f"{name:<46}{after[what]:>12,}{before[what]:>12,}{ratio:>8.2f}{1.15:>7}{'':>6}{mark}")
    return kept


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()
