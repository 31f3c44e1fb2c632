"""Orders that wait for a signature, the gravest first, with what each is about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Case, IntegerField, Max, Min, QuerySet, Value, When

from notices.domain.kinds import LetterState
from notices.models import Letter, LetterNotice
from registry.domain.kinds import Hazard
from registry.models import Program

_WORK = "carried__notice__obligation"


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedOrder:
    """One of the list: where, about what, since when; its gravest hazard.

    ``first_pk``: the assembly that was due first, whose page says why it was due then.
    """

    letter: Letter
    premises: str
    about: str
    hazard: str
    first_pk: int | None
    due_on: date | None
    failed_on: date | None


def open_orders(program: Program) -> QuerySet[Letter]:
    """The orders of a program that nobody has let go."""
    return Letter.objects.filter(program=program, is_order=True, state=LetterState.COMPOSED)


def prepared_orders(program: Program, *, most: int) -> list[PreparedOrder]:
    """Return them: failed on high hazard first, then high hazard, then the longest overdue.

    A hazard nobody assessed counts as high, and is not called so.
    """
    is_high = Case(
        When(**{f"{_WORK}__assembly__hazard": Hazard.LOW.value}, then=Value(0)),
        default=Value(1),
        output_field=IntegerField(),
    )
    is_failed = Case(
        When(**{f"{_WORK}__failed_on__isnull": False}, then=is_high),
        default=Value(0),
        output_field=IntegerField(),
    )
    found = (
        open_orders(program)
        .select_related("signature")
        .defer("content")
        .annotate(
            first_due=Min(f"{_WORK}__due_on"),
            first_failed=Min(f"{_WORK}__failed_on"),
            high=Max(is_high),
            failed_high=Max(is_failed),
        )
        .order_by("-failed_high", "-high", "first_due", "pk")
    )
    letters = list(found[:most])
    about = _about(letters)
    return [
        PreparedOrder(
            letter=one,
            due_on=one.first_due,
            failed_on=one.first_failed,
            **about.get(one.pk, {"premises": "", "about": "", "hazard": "", "first_pk": None}),
        )
        for one in letters
    ]


def _about(letters: Sequence[Letter]) -> dict[int, dict[str, Any]]:
    """What each order is about, in one query: its premises, its assemblies, the gravest hazard."""
    carried = (
        LetterNotice.objects.filter(letter__in=letters, notice__assembly__isnull=False)
        .select_related("notice__assembly", "notice__premises", "notice__obligation")
        .order_by("letter_id", "notice__assembly__serial")
    )
    told: dict[int, dict[str, Any]] = {}
    first: dict[int, date] = {}
    for one in carried:
        assembly, premises = one.notice.assembly, one.notice.premises
        assert assembly is not None
        where = f"{premises.name}, {premises.address}" if premises.name else premises.address
        named = f"{assembly.type} {assembly.serial}".strip()
        known = told.setdefault(
            one.letter_id,
            {"premises": where, "about": "", "hazard": assembly.hazard, "first_pk": assembly.pk},
        )
        known["about"] = f"{known['about']}, {named}" if known["about"] else named
        known["hazard"] = max(known["hazard"], assembly.hazard, key=_GRAVITY.index)
        owed = one.notice.obligation
        if owed is not None and owed.due_on < first.get(one.letter_id, date.max):
            first[one.letter_id], known["first_pk"] = owed.due_on, assembly.pk
    return told


_GRAVITY = [Hazard.LOW.value, Hazard.NOT_ASSESSED.value, Hazard.HIGH.value]
