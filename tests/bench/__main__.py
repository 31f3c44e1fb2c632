"""Prints the benchmarks of one run: `make bench`."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

import dj_database_url
import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from tests.bench import work  # noqa: E402  (needs the settings)
from tests.bench.stopwatch import Measure, lines_against  # noqa: E402
from tests.own_database import database_maker  # noqa: E402
from tests.postgres import NoPostgres, running_postgres  # noqa: E402


def main() -> None:
    """Measure, and print everything in yardsticks of this machine."""
    yardstick = work.yardstick()
    tell(yardstick, [work.reading()], where="Pure work")
    with tempfile.TemporaryDirectory() as folder:
        sqlite = {"ENGINE": "django.db.backends.sqlite3"}
        with database_maker(server=sqlite, folder=Path(folder)) as maker:
            tell(yardstick, work.office(maker, folder=Path(folder)), where="On SQLite")
        try:
            with running_postgres(environment={}) as address:
                server = dict(dj_database_url.parse(address))
                with database_maker(server=server, folder=Path(folder)) as maker:
                    tell(yardstick, work.office(maker, folder=Path(folder)), where="On PostgreSQL")
        except NoPostgres as absent:
            sys.stdout.write(f"\nNot on PostgreSQL: {absent}\n")


def tell(yardstick: Measure, measured: list[Measure], *, where: str) -> None:
    """Print one table."""
    sys.stdout.write("\n".join(["", where, *lines_against(yardstick, measured=measured), ""]))
    sys.stdout.flush()


if __name__ == "__main__":
    main()
