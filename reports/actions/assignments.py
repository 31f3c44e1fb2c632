"""Premises assigned to a testing company by a person, and taken back."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Assignment, Firm, Premises, Program
from reports.rounds.due_work import BY_PLAN

BY_HAND = "by hand"
BY_FILE = "by file"


@transaction.atomic
def assign_premises(
    *, program: Program, firm: Firm, premises: Collection[int], how: str, on: date, hand: Hand
) -> int:
    """Let only this company visit these premises; how many were not its own already.

    What a person assigned to another company ends that day; what a plan made for this one becomes
    a person's.
    """
    mine = Premises.objects.filter(program=program, pk__in=premises).values_list("pk", flat=True)
    wanted = set(mine)
    running = Assignment.objects.filter(program=program, premises__in=wanted, ended_on__isnull=True)
    held = set(running.filter(firm=firm).exclude(how=BY_PLAN).values_list("premises_id", flat=True))
    fresh = wanted - held
    running.filter(premises__in=fresh).exclude(firm=firm).exclude(how=BY_PLAN).update(ended_on=on)
    running.filter(premises__in=fresh, firm=firm).update(how=how)
    there = set(running.filter(firm=firm).values_list("premises_id", flat=True))
    Assignment.objects.bulk_create(
        Assignment(program=program, firm=firm, premises_id=pk, made_on=on, how=how)
        for pk in sorted(fresh - there)
    )
    _record(program, firm, count=len(fresh), what="assigned", hand=hand)
    return len(fresh)


@transaction.atomic
def take_back(*, program: Program, premises: Collection[int], on: date, hand: Hand) -> int:
    """End what a person assigned there; any approved company may come again."""
    running = Assignment.objects.filter(
        program=program, premises__in=premises, ended_on__isnull=True
    ).exclude(how=BY_PLAN)
    count = running.update(ended_on=on)
    _record(program, None, count=count, what="taken back", hand=hand)
    return count


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
