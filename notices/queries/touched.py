"""Which notices that left may be without a cause: the record before them changed after they left.

It begins with what changed since the last run, facts, findings of hazard, types, uses and kinds
of service: on an ordinary night they are few.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from notices.models import LetterNotice
from notices.queries.reshaped import reshaped
from registry.batches import in_batches
from registry.models import HazardAssessment, Program
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

SILENT = (FactKind.STOPPED, FactKind.RESTARTED, FactKind.HELD, FactKind.EXTENDED)
"""Facts that move days and take away no cause."""


@dataclass(frozen=True, slots=True)
class Changed:
    """What the record says of a day, and the moment at which it came to say so.

    `assembly` None: it is about the whole premises, its services, or all assemblies there.
    """

    premises: int
    assembly: int | None
    on: date
    at: datetime


def touched(program: Program, *, since: datetime) -> list[int]:
    """Return the notices whose record, up to their leaving, changed after they had left."""
    found: set[int] = set()
    for batch in in_batches(_changed(program, since=since)):
        found |= _left_before(batch)
    return sorted(found)


def _changed(program: Program, *, since: datetime) -> Iterator[Changed]:
    """Only where a letter had left: after a first load there is none, however many facts."""
    yield from _facts(program, since=since)
    findings = HazardAssessment.objects.filter(
        _a_letter_left(Q(notice__premises=OuterRef("premises")), on="assessed_on"),
        recorded_at__gte=since,
        premises__program=program,
    )
    for row in findings.order_by().values_list(
        "premises_id", "assembly_id", "assessed_on", "recorded_at"
    ):
        yield Changed(*row)
    for one in reshaped(program, since=since):
        yield Changed(one.premises, one.assembly, one.on, one.at)


def _facts(program: Program, *, since: datetime) -> Iterator[Changed]:
    changed = Fact.objects.filter(
        Q(recorded_at__gte=since) | Q(withdrawn_at__gte=since), program=program
    ).exclude(kind__in=SILENT)
    rows: tuple[QuerySet[Fact], ...] = (
        changed.filter(assembly__isnull=False),
        changed.filter(connection__isnull=False),
        changed.filter(premises__isnull=False),
    )
    wheres = ("assembly__premises_id", "connection__premises_id", "premises_id")
    for some, where in zip(rows, wheres, strict=True):
        left = _a_letter_left(Q(notice__premises=OuterRef(where)), on="on", withdrawn=True)
        told = some.filter(left).order_by()
        for premises, assembly, on, recorded_at, withdrawn_at in told.values_list(
            where, "assembly_id", "on", "recorded_at", "withdrawn_at"
        ):
            at = max(recorded_at, withdrawn_at or recorded_at)
            yield Changed(premises, assembly, on, at)


def _a_letter_left(where: Q, *, on: str, withdrawn: bool = False) -> Exists:
    told = Q(letter__left_at__lt=OuterRef("recorded_at"))
    if withdrawn:
        told |= Q(letter__left_at__lt=OuterRef("withdrawn_at"))
    return Exists(LetterNotice.objects.filter(told, where, notice__left_on__gte=OuterRef(on)))


def _left_before(changed: Sequence[Changed]) -> set[int]:
    """Return the notices that had left when one of these was written down or withdrawn."""
    rows = LetterNotice.objects.filter(
        notice__premises__in={one.premises for one in changed},
        notice__left_on__isnull=False,
        notice__is_brought_along=False,
        notice__obligation__isnull=False,
        letter__left_at__isnull=False,
    ).values_list(
        "notice_id", "notice__assembly_id", "notice__premises_id", "notice__left_on",
        "letter__left_at",
    )  # fmt: skip
    by_place: dict[int, list[Changed]] = defaultdict(list)
    for one in changed:
        by_place[one.premises].append(one)
    return {
        notice
        for notice, assembly, premises, left_on, left_at in rows
        if left_on is not None
        and left_at is not None
        and _concern(by_place[premises], assembly=assembly, left_on=left_on, left_at=left_at)
    }


def _concern(
    changed: Iterable[Changed], *, assembly: int | None, left_on: date, left_at: datetime
) -> bool:
    """A notice of a premises or a service is touched by whatever is known of any assembly there."""
    return any(
        one.on <= left_on and left_at < one.at
        for one in changed
        if assembly is None or one.assembly in (None, assembly)
    )
