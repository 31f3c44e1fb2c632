"""Many rows at once: COPY on PostgreSQL, one prepared statement on SQLite, and no model objects."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, cast

from django.db import connection


def pour(*, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Write rows into a table, in the transaction of the caller.

    Values are as the database takes them: JSON as text, moments as its own text. Names of
    table and columns are ours, never what somebody typed.
    """
    if connection.vendor != "postgresql":
        # A day is text there; asked in place, since a call for each value costs as much again.
        rows = (
            tuple([value.isoformat() if type(value) is date else value for value in row])
            for row in rows
        )
    pour_as_they_are(table=table, columns=columns, rows=rows)


def pour_as_they_are(*, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Write rows whose days, too, are as this database takes them."""
    quote = connection.ops.quote_name
    names = ", ".join(quote(name) for name in columns)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {quote(table)} ({names}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
            return
        marks = ", ".join(["%s"] * len(columns))
        command = f"INSERT INTO {quote(table)} ({names}) VALUES ({marks})"  # noqa: S608
        cursor.executemany(command, cast("Any", rows))
