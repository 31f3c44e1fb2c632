"""Recording what happened, and withdrawing what was entered wrongly; nothing is deleted."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from django.db import transaction

from registry.batches import in_batches
from registry.changes import Hand, record_changes
from registry.models import Assembly, LoadBatch, Program
from scheduling.actions.likenesses import forget_likeness
from scheduling.domain.fact_checks import LATEST, day_fault, fact_faults
from scheduling.domain.facts import Fact as DomainFact
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.models import Fact

IN_A_QUERY = 900
"""Ids asked for by one query."""


class FactError(ValueError):
    """A fact that cannot be kept; carries the field, and the message says what to do."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@dataclass(frozen=True, slots=True, kw_only=True)
class NewFact:
    """A fact to record.

    `found_failed` and `repaired_inside` belong to a pass that one report gave after a
    failing as-found part; `until` is the new due date of an extension, the last day of a
    hold, or the day to look again at an idle time or an exemption. `hindrance` belongs to a
    visit on which it could not be tested. `source` is stated, load, field test or person.
    `cause` says what stopped a clock that stops or runs again. `detail` is kept with the fact
    and read by no rule.
    """

    assembly_id: int
    kind: FactKind
    on: date
    at: time | None = None
    work: str = "test"
    found_failed: bool = False
    repaired_inside: bool = False
    until: date | None = None
    hindrance: Hindrance | None = None
    cause: str = ""
    source: str = "person"
    source_ref: str = ""
    reason: str = ""
    detail: Mapping[str, Any] | None = None

    @property
    def plain(self) -> DomainFact:
        """The fact as rules read it."""
        return DomainFact(
            kind=self.kind,
            on=self.on,
            at=self.at,
            work=self.work,
            found_failed=self.found_failed,
            repaired_inside=self.repaired_inside,
            until=self.until,
            hindrance=self.hindrance,
            cause=self.cause,
        )


def record_facts(
    *,
    program: Program,
    facts: Sequence[NewFact],
    recorded_at: datetime,
    by: str,
    batch: LoadBatch | None = None,
    today: date | None = None,
) -> list[Fact]:
    """Record facts, all or none, and return the rows. Replay the assemblies afterwards.

    `today` is the program's day: no fact may lie after it; None asks only for a day of the
    calendar. Raises FactError for a day outside 1900 to 2200 or after today, an extension or
    a hold that ends before it begins, facts of a person that contradict others given with
    them, and an assembly of another program.
    """
    if not facts:
        return []
    for fact in facts:
        check_days(fact.plain, today=today or LATEST)
    _check_together(facts, today=today or LATEST)
    _check_owner(program=program, facts=facts)
    rows = [
        _row(fact, program=program, recorded_at=recorded_at, by=by, batch=batch) for fact in facts
    ]
    with transaction.atomic():
        forget_likeness(program=program, assembly_ids={fact.assembly_id for fact in facts})
        return Fact.objects.bulk_create(rows, batch_size=500)


def check_days(fact: DomainFact, *, today: date) -> None:
    """Raise FactError where a fact cannot be by itself, naming the day that is at fault."""
    faults = fact_faults(facts=[fact], today=today)
    if faults:
        is_of_day = fact.on > today or day_fault(fact.on, what="on")
        raise FactError(field="on" if is_of_day else "until", message=" ".join(faults))


def _check_together(facts: Sequence[NewFact], *, today: date) -> None:
    """Hold what a person says of one assembly against all that is given of it at once.

    What a sheet or a report says is kept as stated, and told where it cannot be.
    """
    by_assembly: dict[int, list[NewFact]] = {}
    for fact in facts:
        by_assembly.setdefault(fact.assembly_id, []).append(fact)
    for given in by_assembly.values():
        told = [fact.plain for fact in given if fact.source == "person"]
        if len(given) < 2 or not told:
            continue
        others = [fact.plain for fact in given if fact.source != "person"]
        if faults := fact_faults(facts=told, known=others, today=today):
            raise FactError(field="on", message=" ".join(faults))


def _check_owner(*, program: Program, facts: Sequence[NewFact]) -> None:
    wanted = {fact.assembly_id for fact in facts}
    known: set[int] = set()
    for chunk in in_batches(sorted(wanted), size=IN_A_QUERY):
        known.update(
            Assembly.objects.filter(program=program, pk__in=chunk).values_list("pk", flat=True)
        )
    if wanted - known:
        raise FactError(
            field="assembly",
            message=f"{len(wanted - known)} assemblies are not of program {program.code}.",
        )


def _row(
    fact: NewFact, *, program: Program, recorded_at: datetime, by: str, batch: LoadBatch | None
) -> Fact:
    return Fact(
        program=program,
        assembly_id=fact.assembly_id,
        kind=fact.kind.value,
        on=fact.on,
        at=fact.at,
        detail=detail_of(fact.plain, more=fact.detail),
        source=fact.source,
        source_ref=fact.source_ref,
        recorded_at=recorded_at,
        by=by,
        reason=fact.reason,
        batch=batch,
    )


def detail_of(fact: DomainFact, *, more: Mapping[str, Any] | None) -> dict[str, Any]:
    """Return what rules read beyond kind and day, with more that none reads; the usual left out."""
    detail: dict[str, Any] = dict(more or {})
    if fact.work != "test":
        detail["work"] = fact.work
    if fact.found_failed:
        detail["found_failed"] = True
    if fact.repaired_inside:
        detail["repaired_inside"] = True
    if fact.until is not None:
        detail["until"] = fact.until.isoformat()
    if fact.hindrance is not None:
        detail["hindrance"] = fact.hindrance.value
    if fact.cause:
        detail["cause"] = fact.cause
    return detail


def withdraw_facts(
    *, program: Program, fact_ids: Collection[int], at: datetime, reason: str, by: str
) -> list[int]:
    """Withdraw facts with a reason, and return the assemblies they were about.

    A fact already withdrawn stays as it was. Replay those assemblies afterwards.
    """
    hand = Hand(by=by, at=at, reason=reason)
    touched: set[int] = set()
    with transaction.atomic():
        for some in in_batches(sorted(set(fact_ids)), size=IN_A_QUERY):
            touched |= _withdraw(some, program=program, hand=hand)
        forget_likeness(program=program, assembly_ids=touched)
    return sorted(touched)


def _withdraw(fact_ids: Sequence[int], *, program: Program, hand: Hand) -> set[int]:
    """Withdraw those that are not yet; return the assemblies they were about."""
    rows = list(
        Fact.objects.select_for_update()
        .filter(program=program, pk__in=fact_ids, withdrawn_at__isnull=True)
        .order_by("pk")
    )
    Fact.objects.filter(pk__in=[fact.pk for fact in rows]).update(
        withdrawn_at=hand.at, withdrawn_by=hand.by, withdrawn_reason=hand.reason[:500]
    )
    record_changes(
        hand=hand,
        what="fact",
        labels={fact.pk: str(fact) for fact in rows},
        before={"withdrawn": False},
        after={"withdrawn": True},
        program=program,
    )
    return {fact.assembly_id for fact in rows if fact.assembly_id is not None}
