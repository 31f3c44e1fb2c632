"""Many keys, some at a time: what a database takes in one statement, what a memory holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Final, TypeVar

T = TypeVar("T")

BATCH: Final = 500
"""Keys in one IN list; both databases take it at once."""


def in_batches(keys: Iterable[T], *, size: int = BATCH) -> Iterator[list[T]]:
    """Yield the keys in lists of at most `size`."""
    rest = iter(keys)
    while batch := list(islice(rest, size)):
        yield batch
