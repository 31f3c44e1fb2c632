"""Carrying a decision on to the dates of its members: a few hundred at a time, never half for good.

The facts of a decision are kept at once, all or none. The dates follow in chunks: while a person
watches, or at the latest in the next run of the day, before anything leaves.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from datetime import date
from typing import Final

from django.db import transaction

from registry.models import Program
from scheduling.actions.by_hand.member_facts import write_again
from scheduling.actions.replaying import replay_assemblies, replay_premises
from scheduling.models import Decision, DecisionMember
from scheduling.queries.decided import due_dates

CHUNK: Final = 500
"""Members whose dates are worked out in one transaction."""

WHERE: Final = ("assembly__premises", "connection__premises", "premises")
"""What is read with members whose premises is asked for."""


def carry_on(decision: Decision, *, today: date, seconds: float | None = None) -> bool:
    """Work out the dates of members that wait for it; return whether all have followed.

    `seconds`: stop after so long, and go on another time. Two at once do the same work once.
    """
    stop = None if seconds is None else time.monotonic() + seconds
    while not _one_chunk(decision.pk, today=today):
        if stop is not None and time.monotonic() > stop:
            return False
    return True


def carry_decisions(*, program: Program, today: date) -> int:
    """Carry on every decision of a program whose day has come; return how many there were."""
    waiting = list(
        Decision.objects.filter(program=program, replay_on__lte=today).order_by("replay_on", "pk")
    )
    for one in waiting:
        carry_on(one, today=today)
    return len(waiting)


@transaction.atomic
def _one_chunk(pk: int, *, today: date) -> bool:
    """Work out one chunk; return whether nothing is left to do now."""
    row = Decision.objects.select_for_update().select_related("program").get(pk=pk)
    if row.replay_on is None or row.replay_on > today:
        return True
    rest = row.members.filter(pk__gt=row.replayed_to).order_by("pk").select_related(*WHERE)
    members = list(rest[:CHUNK])
    if not members:
        row.replay_on, row.replayed_to = None, 0
        row.save(update_fields=["replay_on", "replayed_to"])
        return True
    _replay(row, members=members, today=today)
    keep_due_dates(members)
    row.replayed_to = members[-1].pk
    row.save(update_fields=["replayed_to"])
    return False


def _replay(row: Decision, *, members: Sequence[DecisionMember], today: date) -> None:
    """Replay the assemblies, which takes their premises along, and the premises of the others."""
    ids = [member.assembly_id for member in members if member.assembly_id is not None]
    if ids:
        replay_assemblies(program=row.program, assembly_ids=ids, as_of=today)
    others = {member.where.pk for member in members if member.assembly_id is None}
    done = {member.where.pk for member in members if member.assembly_id is not None}
    replay_premises(program=row.program, premises_ids=others - done, as_of=today)


def keep_due_dates(members: Sequence[DecisionMember]) -> None:
    """Keep on each member the due date that it has now as the one after the decision."""
    due = due_dates(member.subject for member in members)
    for member in members:
        member.due_after = due.get(member.subject)
    write_again(members, fields=("due_after",))
