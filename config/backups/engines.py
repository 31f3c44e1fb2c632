"""How each database is copied and brought back: SQLite by itself, PostgreSQL by its programs."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper

from registry.console import Refused

Parts = Mapping[str, Any]
"""A database as Django's settings name it: NAME, HOST, PORT, USER, PASSWORD."""

SQLITE, POSTGRES = "sqlite", "postgresql"
FILES = {SQLITE: "database.sqlite3", POSTGRES: "database.dump"}
_MISSING = (
    "{program} is not on this machine: install PostgreSQL's client programs, version {at_least} "
    "or newer."
)


def sqlite_copied(connection: BaseDatabaseWrapper, *, to: Path) -> None:
    """Copy a SQLite database into one file, while others write; the copy is checked."""
    connection.ensure_connection()
    copy = sqlite3.connect(to)
    try:
        connection.connection.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
        (said,) = copy.execute("PRAGMA quick_check(1)").fetchone()
    finally:
        copy.close()
    if said != "ok":
        raise Refused(f"The copy is damaged, and so may be the database: {said}.")


def postgres_dumped(parts: Parts, *, to: Path, snapshot: str, server: int) -> None:
    """Dump a PostgreSQL database in its custom format, as one moment saw it."""
    program = _program("pg_dump", at_least=server)
    _run(
        [
            program, "--format=custom", "--no-owner", "--no-privileges", "--no-password",
            f"--snapshot={snapshot}", f"--file={to}", *_where(parts),
        ],
        parts=parts,
    )  # fmt: skip


def postgres_restored(parts: Parts, *, dump: Path, server: int) -> None:
    """Bring a dump into an empty database, all of it or nothing."""
    program = _program("pg_restore", at_least=server)
    _run(
        [
            program, "--no-owner", "--no-privileges", "--no-password", "--exit-on-error",
            "--single-transaction", *_where(parts, named="--dbname"), str(dump),
        ],
        parts=parts,
    )  # fmt: skip


def _where(parts: Parts, *, named: str = "--dbname") -> list[str]:
    wanted = {"--host": "HOST", "--port": "PORT", "--username": "USER"}
    told = [f"{flag}={parts[key]}" for flag, key in wanted.items() if parts.get(key)]
    return [*told, f"{named}={parts['NAME']}"]


def _program(name: str, *, at_least: int) -> str:
    found = shutil.which(name)
    if found is None:
        raise Refused(_MISSING.format(program=name, at_least=at_least))
    said = subprocess.run([found, "--version"], capture_output=True, text=True, check=False).stdout
    version = re.search(r"(\d+)(?:\.\d+)?", said)
    if version and int(version[1]) < at_least:
        raise Refused(
            f"{name} is of version {version[1]} and the server of {at_least}: it must be as new. "
            f"Install version {at_least}."
        )
    return found


def _run(command: list[str], *, parts: Parts) -> None:
    # The password goes by the environment: arguments are seen by everybody on the machine.
    secret = {"PGPASSWORD": str(parts["PASSWORD"])} if parts.get("PASSWORD") else {}
    done = subprocess.run(
        command, env={**os.environ, **secret}, capture_output=True, text=True, check=False
    )
    if done.returncode:
        words = " ".join(done.stderr.split())[-400:]
        raise Refused(f"{Path(command[0]).name} failed: {words}")
