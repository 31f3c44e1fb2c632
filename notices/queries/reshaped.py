"""What a person changed of an assembly, a service or a premises, and from which day it holds.

A type, a use or a kind of service decides which rules bind: mended for days gone by, letters of
those days may have had no cause.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from registry.batches import in_batches
from registry.models import Assembly, Change, Premises, Program, ServiceConnection

SHAPES: dict[str, tuple[str, ...]] = {
    "assembly": ("type", "protects", "connection"),
    "premises": ("use",),
    "serviceconnection": ("kind", "has_chemicals", "runs_part_year"),
}
"""By the name of a change: the fields by which rules bind."""


@dataclass(frozen=True, slots=True)
class Reshaped:
    """Where something changed, from which day on, and when it was written down.

    `assembly` None: a premises, or a service and all that stands on it.
    """

    premises: int
    assembly: int | None
    on: date
    at: datetime


def reshaped(program: Program, *, since: datetime) -> Iterator[Reshaped]:
    """Yield what was changed since: from the day named, or from ever where none was named."""
    rows = Change.objects.filter(
        program=program, at__gte=since, what__in=SHAPES, subject_id__isnull=False
    )
    moments: dict[str, dict[int, list[datetime]]] = defaultdict(lambda: defaultdict(list))
    told = rows.order_by().values_list("what", "subject_id", "at", "before")
    for what, subject_id, at, before in told.iterator(chunk_size=2000):
        # A row that is new has no before: no letter had left about it.
        if subject_id is not None and any(name in before for name in SHAPES[what]):
            moments[what][subject_id].append(at)
    yield from _told(moments["assembly"], _assemblies(moments["assembly"]))
    yield from _told(moments["premises"], _premises(moments["premises"]))
    yield from _told(moments["serviceconnection"], _services(moments["serviceconnection"]))


_Where = tuple[int, int, int | None, Any]
"""A row's number, its premises, its assembly, and what it was before."""


def _told(moments: Mapping[int, list[datetime]], rows: Iterable[_Where]) -> Iterator[Reshaped]:
    for pk, premises, assembly, was in rows:
        for at in moments[pk]:
            yield Reshaped(premises, assembly, _since(was, at=at), at)


def _since(was: Any, *, at: datetime) -> date:
    """The day from which a change of a moment holds; the first of all where it names none."""
    for entry in reversed(was or ()):
        # A service keeps the moment itself, and the day beside it; the others the reverse.
        moment = entry.get("recorded_at") or entry["until"]
        if datetime.fromisoformat(moment) == at:
            day = entry["until"] if "recorded_at" in entry else entry.get("since")
            return date.fromisoformat(day) if day else date.min
    return date.min


def _assemblies(ids: Iterable[int]) -> Iterator[_Where]:
    for batch in in_batches(ids):
        rows = Assembly.objects.filter(pk__in=batch).order_by()
        for pk, premises, was in rows.values_list("pk", "premises_id", "was"):
            yield pk, premises, pk, was


def _premises(ids: Iterable[int]) -> Iterator[_Where]:
    for batch in in_batches(ids):
        for pk, was in Premises.objects.filter(pk__in=batch).order_by().values_list("pk", "was"):
            yield pk, pk, None, was


def _services(ids: Iterable[int]) -> Iterator[_Where]:
    for batch in in_batches(ids):
        rows = ServiceConnection.objects.filter(pk__in=batch).order_by()
        for pk, premises, was in rows.values_list("pk", "premises_id", "was"):
            yield pk, premises, None, was
