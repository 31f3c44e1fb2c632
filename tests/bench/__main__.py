"""Prints the benchmarks of one run: `make bench`.

BENCH_SIZE: assemblies of the large registry (default 20,000; judged from 200,000 on).
BENCH_ONLY: `speed` for the large registry alone, `commands` for the demo's commands alone,
`letters` for letters and notices alone.
BENCH_LETTERS: letters drawn by two processes (default 1,000); BENCH_NOTICES: notices (30,000).
BENCH_ON: `sqlite` or `postgresql` for one engine alone.
BENCH_CLOCK: `processor` to time the work itself where others use the machine too.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import dj_database_url
import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from tests.bench import work  # noqa: E402  (needs the settings)
from tests.bench.speed import field_tests_of, letters_of, notices_of, speed_of  # noqa: E402
from tests.bench.stopwatch import Measure, lines_against  # noqa: E402
from tests.own_database import database_maker  # noqa: E402
from tests.postgres import NoPostgres, running_postgres  # noqa: E402

SIZE = int(os.environ.get("BENCH_SIZE", "20000").replace(",", "").replace("_", ""))
LETTERS = int(os.environ.get("BENCH_LETTERS", "1000"))
NOTICES = int(os.environ.get("BENCH_NOTICES", "30000"))
ONLY = os.environ.get("BENCH_ONLY", "")
ON = os.environ.get("BENCH_ON", "")


def main() -> None:
    """Measure on both engines, and end with 1 where a limit is broken."""
    yardstick = work.yardstick()
    tell(yardstick, [work.reading()], where="Pure work")
    kept = ONLY not in ("", "letters") or letters_of(many=LETTERS)
    with tempfile.TemporaryDirectory() as folder:
        sqlite = {"ENGINE": "django.db.backends.sqlite3"}
        if ON != "postgresql":
            kept &= measure_on(sqlite, name="SQLite", yardstick=yardstick, folder=Path(folder))
        try:
            with running_postgres(environment={}) as address:
                server = dict(dj_database_url.parse(address))
                if ON != "sqlite":
                    kept &= measure_on(
                        server, name="PostgreSQL", yardstick=yardstick, folder=Path(folder)
                    )
        except NoPostgres as absent:
            sys.stdout.write(f"\nNot on PostgreSQL: {absent}\n")
    sys.exit(0 if kept else 1)


def measure_on(server: Mapping[str, Any], *, name: str, yardstick: Measure, folder: Path) -> bool:
    """Measure the demo's commands and the large registry on one engine."""
    kept = True
    with database_maker(server=server, folder=folder) as maker:
        if ONLY in ("", "letters"):
            with maker.fresh() as address:
                kept = notices_of(address, number=NOTICES)
            if ONLY:
                return kept
        if ONLY != "speed":
            tell(yardstick, work.office(maker, folder=folder), where=f"On {name}")
        if ONLY == "commands":
            return kept
        sys.stdout.write(f"\nA large registry on {name}\n")
        with maker.fresh() as address:
            kept = speed_of(address, size=SIZE) and kept
        with maker.fresh() as address:
            return field_tests_of(address) and kept


def tell(yardstick: Measure, measured: list[Measure], *, where: str) -> None:
    """Print one table."""
    sys.stdout.write("\n".join(["", where, *lines_against(yardstick, measured=measured), ""]))
    sys.stdout.flush()


if __name__ == "__main__":
    main()
