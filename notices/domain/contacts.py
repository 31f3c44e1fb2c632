"""Kinds of contact with people at a premises, and whether a promise was kept."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from enum import StrEnum


class ContactKind(StrEnum):
    """How somebody spoke with the office."""

    CALL = "call"
    VISIT = "visit"
    COUNTER = "at the counter"
    EMAIL = "e-mail"
    POST = "letter to us"


class PromiseState(StrEnum):
    """What became of a promise; worked out from field visits, never typed."""

    OPEN = "open"
    KEPT = "kept"
    BROKEN = "broken"


def promise_state(
    *, said_on: date, promised_for: date, visits: Iterable[date], today: date
) -> PromiseState:
    """Return whether a promised visit took place: somebody tested, or tried to, by its day.

    Example: said on 1 March for the 12th, a test on the 10th: kept. None by the 12th: from the
    13th on broken; a test of the 11th that comes in later makes it kept after all.
    """
    if any(said_on <= day <= promised_for for day in visits):
        return PromiseState.KEPT
    return PromiseState.BROKEN if today > promised_for else PromiseState.OPEN


def contact_faults(
    *, kind: str, on: date | None, words: str, promised_for: date | None, today: date
) -> dict[str, str]:
    """Return what is wrong with a contact as it was written, a sentence for each field."""
    found = {}
    if kind not in set(ContactKind):
        found["kind"] = "Say how: a call, a visit, at the counter, an e-mail or a letter to us."
    if on is None:
        found["on"] = "Write the day of it, as in 2026-03-12."
    elif on > today:
        found["on"] = f"{on} is still to come: write down what was said on its day."
    if not words.strip():
        found["words"] = "Write what was said, in a sentence or two."
    if promised_for is not None and on is not None and promised_for < on:
        found["promised_for"] = f"It was promised on {on} for {promised_for}: choose a later day."
    return found
