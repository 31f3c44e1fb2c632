"""Stored facts as the plain values replay reads."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, Final

from scheduling.domain.facts import Fact, FactKind, Hindrance

FACT: Final = ("id", "kind", "on", "at", "detail", "recorded_at", "withdrawn_at")
"""The columns of a fact that replay reads, in the order `fact_of` takes them."""


def fact_of(values: Sequence[Any]) -> Fact:
    """Return the fact of a row's values of FACT."""
    pk, kind, on, at, detail, recorded_at, withdrawn_at = values
    until, hindrance = detail.get("until"), detail.get("hindrance")
    return Fact(
        kind=FactKind(kind),
        on=on,
        sequence=pk,
        at=at,
        work=detail.get("work", "test"),
        found_failed=bool(detail.get("found_failed")),
        repaired_inside=bool(detail.get("repaired_inside")),
        until=date.fromisoformat(until) if until else None,
        hindrance=Hindrance(hindrance) if hindrance else None,
        cause=detail.get("cause", ""),
        recorded_at=recorded_at,
        withdrawn_at=withdrawn_at,
    )
