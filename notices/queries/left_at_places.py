"""What had left for a premises and its services by a day, as known now or as then known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from notices.queries.left_rungs import left_rungs
from notices.queries.left_then import left_then_of
from registry.models import Premises
from scheduling.domain.ladders import LeftRung
from scheduling.domain.matching import SubjectKind
from scheduling.domain.obligations import ObligationKey
from scheduling.models import Obligation
from scheduling.queries.duties import LeftBySubject
from scheduling.queries.obligations import key_of
from scheduling.queries.where import OF_NO_ASSEMBLY, at_premises


def left_at(premises: Premises, *, as_of: date, known_on: date | None) -> LeftBySubject:
    """Return what had left, by what it was about and the obligation it counts for."""
    rows = Obligation.objects.filter(OF_NO_ASSEMBLY, at_premises([premises.pk]))
    by_subject: dict[tuple[SubjectKind, int], list[Obligation]] = {}
    for row in rows.select_related("rulebook").order_by("pk"):
        by_subject.setdefault(_subject(row), []).append(row)
    return {
        subject: _left(found, as_of=as_of, known_on=known_on)
        for subject, found in by_subject.items()
    }


def _subject(row: Obligation) -> tuple[SubjectKind, int]:
    if row.connection_id is not None:
        return (SubjectKind.CONNECTION, row.connection_id)
    return (SubjectKind.PREMISES, row.premises_id or 0)


def _left(
    rows: Sequence[Obligation], *, as_of: date, known_on: date | None
) -> Mapping[ObligationKey, Sequence[LeftRung]]:
    if known_on is not None:
        return left_then_of(rows, by=min(as_of, known_on), known_on=known_on)
    left = left_rungs(rows, by=as_of)
    return {key_of(row): left[row.pk] for row in rows if left[row.pk]}
