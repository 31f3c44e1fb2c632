"""Makes databases for tests that run commands in processes of their own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import uuid
from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg
from psycopg import sql

ROOT = Path(__file__).resolve().parent.parent
PATIENCE = 1800
"""Seconds: on a machine that others use, the work of a minute may take half an hour."""


class DatabaseMaker(ABC):
    """Hands out copies of one migrated, empty database."""

    @abstractmethod
    def fresh(self) -> AbstractContextManager[str]:
        """Yield the DATABASE_URL of a copy that is dropped afterwards."""


@contextmanager
def database_maker(*, server: Mapping[str, Any], folder: Path) -> Iterator[DatabaseMaker]:
    """Yield a maker for the engine of `server`, Django's settings of this run's database."""
    if "postgresql" not in server["ENGINE"]:
        yield _SqliteMaker(folder=folder)
        return
    maker = _PostgresMaker(server=server)
    try:
        yield maker
    finally:
        maker.drop(maker.pattern)


def run_manage(
    *arguments: str, database: str, check: bool = True, timeout: int = 600
) -> subprocess.CompletedProcess[str]:
    """Run `manage.py` in a process of its own on the database; standard input is closed."""
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *arguments],
        env=environment_for(database),
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=check,
        timeout=timeout,
    )


def start_manage(*arguments: str, database: str) -> subprocess.Popen[str]:
    """Start `manage.py` on the database and return at once, for tests that kill it."""
    return subprocess.Popen(
        [sys.executable, str(ROOT / "manage.py"), *arguments],
        env=environment_for(database),
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def environment_for(database: str) -> dict[str, str]:
    """Return this process's environment without settings of ours, but with the database."""
    return {**environment_without_settings(), "DATABASE_URL": database}


def environment_without_settings() -> dict[str, str]:
    """Return this process's environment as an office's would be with nothing set."""
    ours = ("WATERCLERK_", "DJANGO_ALLOW_ASYNC")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(ours)}
    return {**kept, "DJANGO_SETTINGS_MODULE": "config.settings"}


class _SqliteMaker(DatabaseMaker):
    def __init__(self, *, folder: Path) -> None:
        self.folder = folder
        self.pattern = folder / "pattern.sqlite3"
        run_manage("migrate", "-v0", database=f"sqlite:///{self.pattern}", timeout=PATIENCE)

    @contextmanager
    def fresh(self) -> Iterator[str]:
        copy = self.folder / f"{uuid.uuid4().hex}.sqlite3"
        shutil.copyfile(self.pattern, copy)
        yield f"sqlite:///{copy}"
        for left in self.folder.glob(f"{copy.name}*"):
            left.unlink()


class _PostgresMaker(DatabaseMaker):
    def __init__(self, *, server: Mapping[str, Any]) -> None:
        self.server = server
        self.pattern = self._create(template="template0")
        run_manage("migrate", "-v0", database=self._address(self.pattern), timeout=PATIENCE)

    @contextmanager
    def fresh(self) -> Iterator[str]:
        name = self._create(template=self.pattern)
        try:
            yield self._address(name)
        finally:
            self.drop(name)

    def drop(self, name: str) -> None:
        """Drop the database, ending whoever is still in it."""
        command = sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)")
        self._execute(command.format(sql.Identifier(name)))

    def _create(self, *, template: str) -> str:
        name = f"own_{uuid.uuid4().hex[:16]}"
        command = sql.SQL("CREATE DATABASE {} TEMPLATE {}")
        self._execute(command.format(sql.Identifier(name), sql.Identifier(template)))
        return name

    def _execute(self, command: sql.Composed) -> None:
        with psycopg.connect(self._address("postgres"), autocommit=True) as connection:
            connection.execute(command)

    def _address(self, name: str) -> str:
        user, password = self.server.get("USER", ""), self.server.get("PASSWORD", "")
        host, port = self.server.get("HOST", ""), self.server.get("PORT", "")
        who = quote(user, safe="") + (f":{quote(password, safe='')}" if password else "")
        where = quote(host, safe="") + (f":{port}" if port else "")
        return f"postgresql://{who}@{where}/{name}"
