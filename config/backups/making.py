"""Makes a backup: the ledgers sealed, the database copied as one moment saw it, a manifest."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import connection, transaction

from config.backups.engines import FILES, POSTGRES, SQLITE, postgres_dumped, sqlite_copied
from config.backups.manifest import Manifest, digest_of, written
from registry.console import Refused
from registry.models import Program
from registry.moments import today_in
from reports.ledger.sealing import seal

Fetch = Callable[[str], list[tuple[Any, ...]]]
"""Asks a database: from SQL to its rows."""

OURS = ("registry", "scheduling", "notices", "reports")


def make_backup(folder: Path, *, now: datetime, seals: bool = True) -> Manifest:
    """Write a backup into a new folder; Refused where the folder exists or a program is missing.

    The folder appears under its name only when it is whole: a kill leaves `NAME.part`.
    """
    if folder.exists():
        raise Refused(f"{folder} exists already: name a new folder, nothing is overwritten.")
    engine = engine_of(connection.vendor)
    if seals:
        for program in Program.objects.order_by("code"):
            seal(program, on=today_in(zone=program.zone, now=now), at=now)
    part = folder.with_name(f"{folder.name}.part")
    if part.exists():
        raise Refused(f"{part} is left of a backup that was broken off: remove it first.")
    part.mkdir(mode=0o700, parents=True)
    try:
        manifest = _copied(part, engine=engine, now=now)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    part.rename(folder)
    return manifest


def engine_of(vendor: str) -> str:
    """Return the engine as manifests name it; Refused for one that is neither of the two."""
    if vendor not in (SQLITE, POSTGRES):
        raise Refused(f"A database of {vendor} cannot be backed up here.")
    return vendor


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What a database holds: heads by program, rows by model, the last migration by app."""

    heads: dict[str, str]
    rows: dict[str, int]
    newest: dict[str, str]


def seen_through(fetch: Fetch) -> Seen:
    """Count a database through any way to ask it; the SQL is the same on both engines."""
    tables = {
        model._meta.label_lower: model._meta.db_table
        for app in OURS
        for model in apps.get_app_config(app).get_models()
    }
    # Names of tables are ours, from the models; nothing comes from outside.
    rows = {
        label: int(fetch(f'SELECT count(*) FROM "{table}"')[0][0])  # noqa: S608
        for label, table in sorted(tables.items())
    }
    newest = fetch("SELECT app, max(name) FROM django_migrations GROUP BY app")
    return Seen(
        heads={
            str(code): f"{size}:{root}" if size is not None else ""
            for code, size, root in fetch(_HEADS)
        },
        rows=rows,
        newest={str(app): str(name) for app, name in newest if app in OURS},
    )


_HEADS = """
    SELECT p.code, s.size, s.root FROM registry_program p
    LEFT JOIN reports_ledgerseal s ON s.program_id = p.id AND s.size =
        (SELECT max(size) FROM reports_ledgerseal t WHERE t.program_id = p.id)
    ORDER BY p.code
"""


def _copied(part: Path, *, engine: str, now: datetime) -> Manifest:
    file = part / FILES[engine]
    seen = _dumped(file) if engine == POSTGRES else _copied_and_seen(file)
    file.chmod(0o600)
    manifest = Manifest(
        made_at=now.isoformat(timespec="seconds"),
        engine=engine,
        server=_server(),
        files=(digest_of(file),),
        heads=seen.heads,
        rows=seen.rows,
        newest=seen.newest,
    )
    written(part, manifest)
    return manifest


def _copied_and_seen(file: Path) -> Seen:
    """Copy a SQLite database, then look into the copy: what it holds is of one moment."""
    sqlite_copied(connection, to=file)
    copy = sqlite3.connect(file)
    try:
        return seen_through(lambda sql: copy.execute(sql).fetchall())
    finally:
        copy.close()


def _dumped(file: Path) -> Seen:
    """Dump a PostgreSQL database through the snapshot in which its rows are counted."""
    major = int(_server().split(".")[0])
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = str(cursor.fetchone()[0])
        postgres_dumped(connection.settings_dict, to=file, snapshot=snapshot, server=major)
        return seen_through(asked)


def asked(sql: str) -> list[tuple[Any, ...]]:
    """Return the rows that the database of these settings gives."""
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return list(cursor.fetchall())


def _server() -> str:
    is_lite = connection.vendor == SQLITE
    said = asked("SELECT sqlite_version()" if is_lite else "SHOW server_version")
    return str(said[0][0]).split()[0]
