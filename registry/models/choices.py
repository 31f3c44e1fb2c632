"""Choices of a model field, taken from an enum of the domain."""

from __future__ import annotations

from enum import StrEnum


def choices_of(words: type[StrEnum]) -> list[tuple[str, str]]:
    """Pairs for `choices=`: the stored word and the word shown are one and the same."""
    return [(word.value, word.value) for word in words if word.value]
