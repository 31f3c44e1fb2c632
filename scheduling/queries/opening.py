"""Which coming obligations a day would open; those of idle assemblies wait."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.db.models import QuerySet

from registry.models import Program
from scheduling.models import AssemblyState, Obligation

AT_ONCE = 10_000
"""Ids in one statement: a database takes no more than some tens of thousands."""


def ids_to_open(*, program: Program, as_of: date) -> list[int]:
    """Return the obligations whose opening day has come and which no run has opened yet.

    Read twice by an index, first what has come, then which of it is idle: asked at once, a
    database may read every assembly.
    """
    come = list(come_to_open(program=program, as_of=as_of).values_list("pk", "assembly_id"))
    idle: set[int | None] = set()
    for start in range(0, len(come), AT_ONCE):
        some = [key for _, key in come[start : start + AT_ONCE] if key is not None]
        idle.update(idle_among(some, as_of=as_of))
    return sorted(pk for pk, assembly_id in come if assembly_id not in idle)


def come_to_open(*, program: Program, as_of: date) -> QuerySet[Obligation]:
    """Return what has come to its opening day and was not opened, idle or not, in no order."""
    return Obligation.objects.filter(
        program=program, opened_on__isnull=True, closed_on__isnull=True, opens_on__lte=as_of
    ).order_by()


def idle_among(assembly_ids: Sequence[int], *, as_of: date) -> QuerySet[AssemblyState, int]:
    """Return which of these assemblies are idle on a day."""
    states = AssemblyState.objects.filter(assembly__in=assembly_ids, idle_since__lte=as_of)
    return states.values_list("assembly_id", flat=True)
