"""Histories of a whole program, streamed in the order of its assemblies: plain rows, no models."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from operator import itemgetter
from typing import Any, Final

from registry.models import Program
from scheduling.models import AssemblyState, Obligation
from scheduling.queries.rulebooks import Books
from scheduling.queries.subjects import Subject, subjects

STORED: Final = (
    "assembly_id",
    "id",
    "kind",
    "origin",
    "period",
    "opens_on",
    "due_on",
    "failed_on",
    "cure_by",
    "rulebook_id",
    "rule",
    "prompts",
    "detail",
    "next_action_on",
    "opened_on",
    "target_on",
    "lawful_since",
    "likeness",
    "rounds",
)


@dataclass(frozen=True, slots=True)
class History:
    """One assembly with all that happened, its rows not closed yet, and its state's dates."""

    subject: Subject
    unclosed: Sequence[dict[str, Any]]
    state: dict[str, Any] | None


def histories(
    *, program: Program, ids: Sequence[int], books: Books, dates: Sequence[str]
) -> Iterator[History]:
    """Yield these assemblies in order; `dates` names the columns of their states to read."""
    rows = Obligation.objects.filter(
        program=program, assembly__in=ids, closed_on__isnull=True
    ).order_by("assembly_id", "id")
    unclosed = {
        key: list(found)
        for key, found in groupby(rows.values(*STORED), key=itemgetter("assembly_id"))
    }
    states: dict[int, dict[str, Any]] = {
        row["assembly_id"]: row
        for row in AssemblyState.objects.filter(assembly__in=ids).values("assembly_id", *dates)
    }
    for subject in subjects(program=program, assembly_ids=ids, rulebooks=books.dated):
        key = subject.assembly_id
        yield History(subject, unclosed.get(key, ()), states.get(key))


def last_fact_on(subject: Subject) -> date | None:
    """Return the day of the newest fact of an assembly, withdrawn ones included."""
    return max((fact.on for fact in subject.facts), default=None)
