"""What one cell came to: a value with at most one warning, or a fault that sets its row aside."""

import re
import unicodedata
from dataclasses import dataclass
from typing import Generic, TypeVar

T = TypeVar("T")


def spellings(written: str) -> frozenset[str]:
    """The words of a text as a set: how lists of spellings are kept readable."""
    return frozenset(written.split())


NONE_WORDS = spellings(
    "n/a na n.a. n\\a none nil null unknown unk unkn - -- --- \u2013 \u2014 #n/a never"
) | {"not known", "not available", "not applicable", "not recorded", "no record"}


class UnreadableCellError(ValueError):
    """The cell cannot be read; the message says what to do, and the row is set aside."""


@dataclass(frozen=True)
class Reading(Generic[T]):
    """A value read from a cell, and what a person should be told about it."""

    value: T
    warning: str | None = None


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing found in a file: record number, header as spelled, raw cell, what to do."""

    row: int
    column: str | None
    value: str | None
    message: str

    def as_json(self) -> dict[str, str | int | None]:
        """Return the object the commands print."""
        return {
            "row": self.row,
            "column": self.column,
            "value": self.value,
            "message": self.message,
        }


def clean(raw: str) -> str:
    """One line of text: blanks of every kind collapsed, control characters out, NFC."""
    if raw.isascii() and raw.isprintable():
        return " ".join(raw.split())
    spaced = re.sub(r"\s+", " ", raw)
    visible = "".join(char for char in spaced if unicodedata.category(char) not in {"Cc", "Cs"})
    return unicodedata.normalize("NFC", visible).replace("\ufeff", "").strip()


def clean_lines(raw: str) -> str:
    """Text that may have line breaks: each line cleaned, empty ones at both ends dropped."""
    unified = raw.replace("\r\n", "\n").replace("\r", "\n")
    return "\n".join(clean(line) for line in unified.split("\n")).strip()


def is_none(raw: str) -> bool:
    """Whether the cell says that there is nothing: blank, n/a, unknown, a dash."""
    word = clean(raw).casefold()
    return not word or word in NONE_WORDS


def letters_of(raw: str) -> str:
    """The letters and digits alone, upper case: how two spellings of a word are compared."""
    folded = unicodedata.normalize("NFKD", raw).upper()
    return "".join(char for char in folded if char.isalnum())
