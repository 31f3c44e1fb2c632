"""What an entry of the ledger is made of: a kind, its rows, and what is hashed of each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db.models import QuerySet

from registry.models import Program

Plain = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Source:
    """One kind of entry: the rows of a program that have one, and what is hashed of each."""

    kind: str
    rows: Callable[[Program], QuerySet[Any]]
    body: Callable[[Any], Plain]
    personal: Callable[[Any], Plain]


def moment(value: datetime | None) -> str | None:
    """Return a moment as entries hold it, in UTC."""
    return None if value is None else value.astimezone(UTC).isoformat(timespec="microseconds")
