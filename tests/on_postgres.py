"""Runs the database-sensitive tests again on PostgreSQL: `python -m tests.on_postgres`."""

from __future__ import annotations

import os
import subprocess
import sys

from tests.postgres import NoPostgres, running_postgres

MARKS = "(database or postgres) and not browser and not bench"


def main(arguments: list[str]) -> int:
    """Return pytest's exit code; without a PostgreSQL 0, or 1 where everything is required."""
    try:
        with running_postgres(environment=os.environ) as address:
            sys.stderr.write("The tests that touch the database, on PostgreSQL:\n")
            return subprocess.run(
                [sys.executable, "-m", "pytest", "-m", MARKS, *arguments],
                env={**os.environ, "DATABASE_URL": address},
                check=False,
            ).returncode
    except NoPostgres as absent:
        sys.stderr.write(f"!!! NO POSTGRESQL: the tests on it did not run ({absent})\n")
        return 1 if os.environ.get("REQUIRE_ALL") else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
