"""Fills or measures the database of DATABASE_URL: `python -m tests.bench.million fill 100000`.

Each step is a process of its own, so that the memory of one is not counted with another.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import asdict

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from django.db import connection  # noqa: E402  (needs the settings)

from tests.bench.million import measures, single  # noqa: E402  (needs the settings)
from tests.bench.million.filling import fill  # noqa: E402
from tests.bench.million.stated import assert_replay_agrees  # noqa: E402
from tests.bench.million.timing import CLOCK, Row  # noqa: E402

Told = dict[str, object]


def main() -> None:
    """Do one step and print what came of it as JSON."""
    step, size = sys.argv[1], int(sys.argv[2])
    if CLOCK == "processor" and connection.vendor == "postgresql":
        with connection.cursor() as cursor:  # all the work in the session that is timed
            cursor.execute("SET max_parallel_workers_per_gather = 0")
            cursor.execute("SET jit = off")
    told = STEPS[step](size)
    told["megabytes"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(json.dumps(told) + "\n")


def _fill(size: int) -> Told:
    started = time.perf_counter()
    shares = fill(size=size)
    took = time.perf_counter() - started
    return {"seconds": took, "agreed": assert_replay_agrees(shares)}


def _fill_quietly(size: int) -> Told:
    fill(size=size, first=size + 1, only_quiet=True)
    return {}


def _rows(*found: Row) -> Told:
    return {"rows": [asdict(row) for row in found]}


def _rules(_size: int) -> Told:
    change = measures.rule_change(times=3)
    return _rows(change, measures.comparison(recalculated=change.seconds))


def _reads(_size: int) -> Told:
    if connection.vendor != "postgresql":
        return {}
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
    return {"reads": asdict(measures.day_reads())}


STEPS: dict[str, Callable[[int], Told]] = {
    "fill": _fill,
    "fill-quietly": _fill_quietly,
    "day": lambda _: _rows(measures.day_cycle(times=5)),
    "reads": _reads,
    "rules": _rules,
    "histories": lambda _: _rows(measures.histories_read()),
    "replay": lambda _: _rows(*single.one_replay()),
    "board": lambda _: _rows(single.board(times=101)),
}


if __name__ == "__main__":
    main()
