"""The address as it stands in the envelope's window: at most five lines, or a person is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

from notices.domain.cleaning import clean

MOST_LINES = 5
LINE_LETTERS = 46
"""About 245 pt of the letter's 10.5 pt sans; the rendering measures each line again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MailingAddress:
    """A name and where its mail goes; any part may be blank."""

    name: str
    street: str
    city: str
    state: str
    zip: str


@dataclass(frozen=True, slots=True)
class AddressBlock:
    """The lines as printed, and what a person must mend before the letter can be mailed."""

    lines: tuple[str, ...]
    problems: tuple[str, ...] = ()


def window_block(address: MailingAddress) -> AddressBlock:
    """Return the block for the window: name, street, then city, state and ZIP on the last line."""
    name, street, last = clean(address.name), clean(address.street), _last_line(address)
    lines = [*_wrapped(name), *_wrapped(street), *_wrapped(last)]
    problems = list(_gaps(name=name, street=street, address=address))
    if len(lines) > MOST_LINES:
        problems.append(f"The address takes {len(lines)} lines; the window shows {MOST_LINES}.")
        lines = [*lines[: MOST_LINES - 1], lines[-1]]
    return AddressBlock(lines=tuple(lines), problems=tuple(problems))


def one_line(parts: Sequence[str]) -> str:
    """Join what is there with commas: a premises in a sentence."""
    return ", ".join(part for part in map(clean, parts) if part)


def _last_line(address: MailingAddress) -> str:
    place = " ".join(part for part in (clean(address.city), clean(address.state)) if part)
    return " ".join(part for part in (place, clean(address.zip)) if part)


def _wrapped(line: str) -> list[str]:
    return wrap(line, LINE_LETTERS, break_long_words=True, break_on_hyphens=False)


def _gaps(*, name: str, street: str, address: MailingAddress) -> list[str]:
    missing = [
        word
        for word, value in (
            ("name", name),
            ("street", street),
            ("city", clean(address.city)),
            ("ZIP", clean(address.zip)),
        )
        if not value
    ]
    return [f"The mailing address has no {word}." for word in missing]
