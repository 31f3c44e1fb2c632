"""Recording what happened to services and premises, or was decided about them, many at once."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from registry.batches import in_batches
from registry.models import Premises, Program, ServiceConnection
from scheduling.actions.facts import IN_A_QUERY, FactError, check_days, detail_of
from scheduling.domain.decisions import Subject
from scheduling.domain.facts import Fact as DomainFact
from scheduling.domain.facts import FactKind
from scheduling.models import Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPlaceFact:
    """A fact of a service or a premises to record by a person's hand.

    `until`, `cause` and `detail` as of `NewFact`.
    """

    of: Subject
    kind: FactKind
    on: date
    until: date | None = None
    cause: str = ""
    source_ref: str = ""
    reason: str = ""
    detail: Mapping[str, Any] | None = None

    @property
    def plain(self) -> DomainFact:
        """The fact as rules read it."""
        return DomainFact(kind=self.kind, on=self.on, until=self.until, cause=self.cause)


def record_place_facts(
    *,
    program: Program,
    facts: Sequence[NewPlaceFact],
    recorded_at: datetime,
    by: str,
    today: date,
) -> list[Fact]:
    """Record facts, all or none, and return the rows. Replay their premises afterwards.

    Raises FactError for a day that cannot be, and for a service or a premises of another program.
    """
    for fact in facts:
        check_days(fact.plain, today=today)
    _refuse_others(program, of="connection", pks={f.of.pk for f in facts if _is(f, "connection")})
    _refuse_others(program, of="premises", pks={f.of.pk for f in facts if _is(f, "premises")})
    rows = [
        Fact(
            program=program,
            connection_id=fact.of.pk if _is(fact, "connection") else None,
            premises_id=fact.of.pk if _is(fact, "premises") else None,
            kind=fact.kind.value,
            on=fact.on,
            detail=detail_of(fact.plain, more=fact.detail),
            source="person",
            source_ref=fact.source_ref,
            recorded_at=recorded_at,
            by=by,
            reason=fact.reason[:500],
        )
        for fact in facts
    ]
    return Fact.objects.bulk_create(rows, batch_size=500)


def _is(fact: NewPlaceFact, of: str) -> bool:
    return fact.of.of == of


def _refuse_others(program: Program, *, of: str, pks: Collection[int]) -> None:
    known = 0
    for some in in_batches(sorted(pks), size=IN_A_QUERY):
        if of == "premises":
            known += Premises.objects.filter(program=program, pk__in=some).count()
        else:
            known += ServiceConnection.objects.filter(
                premises__program=program, pk__in=some
            ).count()
    if known < len(pks):
        message = f"{len(pks) - known} are not of program {program.code}."
        raise FactError(field=of, message=message)
