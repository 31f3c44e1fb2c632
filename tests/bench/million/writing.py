"""How a database takes many rows: COPY or executemany, without indexes until the end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from typing import Any

from django.db import connection, models

CHUNK = 20_000


def write(model: type[models.Model], rows: Iterable[list[Any]]) -> None:
    """Write rows of all columns of a table, in its order."""
    table = model._meta.db_table
    names = [f'"{field.column}"' for field in model._meta.concrete_fields]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            command = f"COPY {table} ({', '.join(names)}) FROM STDIN"
            with cursor.copy(command) as copy:
                for lines in _chunks("\t".join(map(str, row)) for row in rows):
                    copy.write("\n".join(lines) + "\n")
            return
        marks = ", ".join("?" for _ in names)
        command = f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})"
        cursor.connection.executemany(command, rows)
        if not connection.in_atomic_block:
            cursor.connection.commit()


def _chunks(lines: Iterable[str]) -> Iterator[list[str]]:
    rest = iter(lines)
    while chunk := list(islice(rest, CHUNK)):
        yield chunk


@contextmanager
def without_indexes(tables: Sequence[type[models.Model]]) -> Iterator[None]:
    """Write without looking up keys of other tables, and build the plain indexes at the end."""
    names = [model._meta.db_table for model in tables]
    listed = ", ".join(f"'{name}'" for name in names)
    on_postgres = connection.vendor == "postgresql"
    find = (
        "SELECT i.indexname, i.indexdef FROM pg_indexes i WHERE i.schemaname = 'public'"
        f" AND i.tablename IN ({listed}) AND NOT EXISTS"
        " (SELECT 1 FROM pg_constraint c WHERE c.conname = i.indexname)"
        if on_postgres
        else "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
        f" AND tbl_name IN ({listed})"
    )
    with connection.cursor() as cursor:
        cursor.execute(find)
        indexes = cursor.fetchall()
        before = ("SET session_replication_role = replica",) if on_postgres else (
            "PRAGMA foreign_keys = OFF", "PRAGMA synchronous = OFF")  # fmt: skip
        after = ("SET session_replication_role = DEFAULT",) if on_postgres else (
            "PRAGMA foreign_keys = ON", "PRAGMA synchronous = FULL")  # fmt: skip
        for command in (*before, *(f'DROP INDEX "{name}"' for name, _ in indexes)):
            cursor.execute(command)
    yield
    with connection.cursor() as cursor:
        for command in (*(made for _, made in indexes), *after):
            cursor.execute(command)


def settle(tables: Sequence[type[models.Model]]) -> None:
    """Let the database count what it holds, and give the next ids."""
    give_next_ids(tables)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE" if connection.vendor == "postgresql" else "ANALYZE")


def settle_in_place(tables: Sequence[type[models.Model]]) -> None:
    """The same within a transaction, where nothing can be vacuumed."""
    give_next_ids(tables)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def give_next_ids(tables: Sequence[type[models.Model]]) -> None:
    """Let PostgreSQL give ids after those written; SQLite does so by itself."""
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        for model in tables:
            table, key = model._meta.db_table, model._meta.pk
            assert key is not None
            if isinstance(key, models.AutoField):
                cursor.execute(
                    f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), max(id)) FROM {table}"
                )
