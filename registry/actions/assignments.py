"""Premises assigned to a testing company by a person or a sheet, and taken back."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date

from django.db import transaction

from registry.changes import Hand, record_change
from registry.domain.assigned import HowAssigned
from registry.models import Assignment, Firm, Premises, Program

_AT_ONCE = 500


@transaction.atomic
def assign_premises(
    *,
    program: Program,
    firm: Firm,
    premises: Collection[int],
    how: HowAssigned,
    on: date,
    hand: Hand,
) -> int:
    """Let only this company visit these premises; how many were not its own already.

    What a person or a sheet assigned to another company ends that day; what a plan made for this
    one becomes theirs.
    """
    count = sum(
        _assign(program=program, firm=firm, premises=some, how=how, on=on)
        for some in _portions(premises)
    )
    _record(program, firm, count=count, what="assigned", hand=hand)
    return count


def _assign(
    *, program: Program, firm: Firm, premises: Collection[int], how: HowAssigned, on: date
) -> int:
    mine = Premises.objects.filter(program=program, pk__in=premises).values_list("pk", flat=True)
    wanted = set(mine)
    running = Assignment.objects.filter(program=program, premises__in=wanted, ended_on__isnull=True)
    others = running.exclude(how=HowAssigned.PLAN)
    fresh = wanted - set(others.filter(firm=firm).values_list("premises_id", flat=True))
    others.filter(premises__in=fresh).exclude(firm=firm).update(ended_on=on)
    running.filter(premises__in=fresh, firm=firm).update(how=how)
    there = set(running.filter(firm=firm).values_list("premises_id", flat=True))
    Assignment.objects.bulk_create(
        Assignment(program=program, firm=firm, premises_id=pk, made_on=on, how=how)
        for pk in sorted(fresh - there)
    )
    return len(fresh)


@transaction.atomic
def take_back(*, program: Program, premises: Collection[int], on: date, hand: Hand) -> int:
    """End what a person or a sheet assigned there; any approved company may come again."""
    running = Assignment.objects.filter(program=program, ended_on__isnull=True).exclude(
        how=HowAssigned.PLAN
    )
    count = sum(
        running.filter(premises__in=some).update(ended_on=on) for some in _portions(premises)
    )
    _record(program, None, count=count, what="taken back", hand=hand)
    return count


def _portions(premises: Collection[int]) -> Iterator[list[int]]:
    ids = sorted(premises)
    for start in range(0, len(ids), _AT_ONCE):
        yield ids[start : start + _AT_ONCE]


def _record(program: Program, firm: Firm | None, *, count: int, what: str, hand: Hand) -> None:
    record_change(
        hand=hand,
        what="assignment",
        subject_id=firm.pk if firm else None,
        label=firm.name if firm else program.name,
        before={},
        after={"premises": count, "how": what} if count else {},
        program=program,
        firm=firm,
    )
