"""Where each assembly stands, as dates, written only where replay found something else."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from registry.models import Program
from scheduling.domain.ledger import Ledger
from scheduling.domain.likeness import Likeness
from scheduling.domain.standing import dates_of
from scheduling.models import AssemblyState
from scheduling.queries.subjects import Subject

DATES = (
    "installed_on",
    "last_passed_on",
    "removed_on",
    "idle_since",
    "is_exempt",
    "failed_on",
    "opens_on",
    "due_on",
    "cure_by",
    "likeness",
)
"""What replay decides about a state."""

Found = tuple[Subject, Ledger, Likeness | None]
"""What replay found of an assembly, and what it shares with others."""


def write_states(*, program: Program, found: Sequence[Found], at: datetime) -> None:
    """Write the state of every assembly whose dates differ from those stored.

    A state that says the same keeps the day it was replayed as of, from which on it holds.
    """
    ids = [subject.assembly_id for subject, *_ in found]
    rows = AssemblyState.objects.filter(assembly__in=ids)
    stored = {row["assembly_id"]: row for row in rows.values("assembly_id", *DATES)}
    changed = []
    for subject, ledger, likeness in found:
        dates = dates_stored(ledger, likeness=likeness)
        known = stored.get(subject.assembly_id)
        if known is None or any(known[name] != value for name, value in dates.items()):
            changed.append(_state(subject, dates, program=program, as_of=ledger.as_of, at=at))
    AssemblyState.objects.bulk_create(
        changed,
        batch_size=500,
        update_conflicts=True,
        unique_fields=["assembly"],
        update_fields=["program", *DATES, "replayed_as_of", "replayed_at"],
    )


def dates_stored(ledger: Ledger, *, likeness: Likeness | None) -> dict[str, Any]:
    """Return the columns of DATES as a ledger gives them, in their order."""
    dates, current = dates_of(ledger), ledger.current
    return {
        "installed_on": ledger.installed_on,
        "last_passed_on": dates.last_passed_on,
        "removed_on": dates.removed_on,
        "idle_since": dates.idle_since,
        "is_exempt": dates.is_exempt,
        "failed_on": dates.failed_on,
        "opens_on": dates.opens_on,
        "due_on": dates.due_on,
        "cure_by": current.cure_by if current is not None else None,
        "likeness": likeness.words if likeness is not None else "",
    }


def _state(
    subject: Subject, dates: dict[str, Any], *, program: Program, as_of: date, at: datetime
) -> AssemblyState:
    return AssemblyState(
        assembly_id=subject.assembly_id,
        program=program,
        replayed_as_of=as_of,
        replayed_at=at,
        **dates,
    )
