"""Letters of an invented district, small enough to check by eye."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from notices.domain.addresses import MailingAddress, window_block
from notices.domain.briefs import Brief, Item, Sender, Step
from notices.domain.codes import link_token, short_code
from notices.domain.kinds import BEFORE_DUE_KINDS, LetterKind

KEY = "a key for tests"
NUMBER = "25-1103-0417"
NAME = f"tamarack/{NUMBER}"
LINK = f"https://wc.example/o/{link_token(key=KEY, letter=NAME)}"
CITATION = "Flats Code 13.20.070: what it says"

SENDER = Sender(
    name="Tamarack Flats Water District",
    line="Cross-connection control",
    phone="(555) 010-0142",
    hours="weekdays 8 to 4:30",
    email="backflow@tamarackflats.example",
    shown_address="wc.example/o",
)

ITEM = Item(
    premises_key="1",
    premises="230 Larch Court",
    serial="F2-00917",
    serial_is_ours=False,
    type="DC",
    size_in=Decimal("1.5"),
    location="meter pit",
    service="domestic",
    hazard="low",
    last_passed_on=date(2024, 11, 1),
    due_on=date(2025, 11, 1),
)

ADDRESS = MailingAddress(
    name="Larch Court Apartments",
    street="230 Larch Court",
    city="Tamarack Flats",
    state="XX",
    zip="00731",
)


def _step(kind: str, *, gap: int | None = None, **more: bool) -> Step:
    flags: dict[str, Any] = {
        "is_courtesy": False,
        "is_certified": False,
        "needs_person": False,
        **more,
    }
    return Step(kind=kind, gap_days=gap, citation=CITATION, **flags)


LADDER = (
    _step("test-owed"),
    _step("reminder", is_courtesy=True),
    _step("second-reminder", is_courtesy=True),
    _step("repair"),
    _step("first-overdue"),
    _step("second-overdue", gap=14),
    _step("final", gap=15, is_certified=True),
    _step("shutoff-order", gap=10, needs_person=True),
)


def dated(steps: tuple[Step, ...], *, on: date) -> tuple[Step, ...]:
    """Give each step that counts from the one before its first day."""
    found = []
    for step in steps:
        on += timedelta(days=step.gap_days or 0)
        found.append(replace(step, on=on) if step.gap_days is not None else step)
    return tuple(found)


def _place_after(kind: str, *, keys: list[str]) -> int:
    """Where the ladder goes on after a kind; one it has no rung for stands before what is due."""
    if kind not in keys:
        kind = "repair" if LetterKind(kind) in BEFORE_DUE_KINDS else "final"
    return keys.index(kind) + 1


def item(**changes: Any) -> Item:
    """Return the usual assembly, changed."""
    return replace(ITEM, **changes)


def brief(kind: str, *items: Item, **changes: Any) -> Brief:
    """Return the brief of a letter of this kind that leaves November 3, 2025."""
    keys = [step.kind for step in LADDER]
    as_kind = {"due-notice": "reminder", "second-due-notice": "reminder", "turn-off": "final"}
    leaves_on = date(2025, 11, 3)
    plain = Brief(
        kind=LetterKind(kind),
        number=NUMBER,
        code=short_code(key=KEY, letter=NAME),
        leaves_on=leaves_on,
        sender=SENDER,
        address=window_block(ADDRESS),
        items=items or (ITEM,),
        ahead=dated(LADDER[keys.index(as_kind.get(kind, kind)) + 1 :], on=leaves_on),
        is_certified=kind == "final",
        citation=CITATION,
    )
    return replace(plain, **changes)
