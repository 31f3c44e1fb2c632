"""The registry of the bench in a few seconds and within a test's own transaction."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from tests.bench.million import filling
from tests.bench.million.lives import Life, lives
from tests.bench.million.writing import settle_in_place

if TYPE_CHECKING:
    import pytest

    from scheduling.domain.rulebook import Rulebook

_KNOWN: dict[tuple[str, int, int], list[Life]] = {}


def fill_small(monkeypatch: pytest.MonkeyPatch, *, size: int, lives: int) -> list[filling.Share]:
    """Write a small registry, counted by the database; its lives are lived once a process."""
    monkeypatch.setattr(filling, "LIVES", lives)
    monkeypatch.setattr(filling, "lives", _lived_once)
    monkeypatch.setattr(filling, "settle", settle_in_place)
    monkeypatch.setattr(filling, "without_indexes", lambda _tables: transaction.atomic())
    return filling.fill(size=size)


def _lived_once(*, rulebook: Rulebook, count: int, seed: int) -> list[Life]:
    key = (rulebook.name, count, seed)
    if key not in _KNOWN:
        _KNOWN[key] = lives(rulebook=rulebook, count=count, seed=seed)
    return _KNOWN[key]
