"""Stops the clock of letters for what is open, and lets it go on when its last stop has ended.

A stop is a fact of scheduling, so replay, "why?" and the ledger know it like any other.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from typing import Any

from django.db.models import Q

from notices.actions.clocks import Day
from notices.models import ClockStop, Objection, ReturnedLetter
from registry.changes import Hand
from registry.models import Program
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.actions.replaying import replay_assemblies, replay_premises
from scheduling.domain.facts import FactKind
from scheduling.models import Fact, Obligation
from scheduling.queries.where import at_premises

SOURCE = "person"


def stop_clocks(
    rows: Iterable[Obligation], *, cause: ReturnedLetter | Objection, day: Day, hand: Hand
) -> int:
    """Stop the clock of what these obligations are about from this day on; return how many.

    Call it inside a transaction that holds the program's clock.
    """
    subjects = {(row.assembly_id, row.connection_id, row.premises_id): row for row in rows}
    named: dict[str, Any] = (
        {"returned": cause} if isinstance(cause, ReturnedLetter) else {"objection": cause}
    )
    facts = [
        _record(row, kind=FactKind.STOPPED, cause=cause, day=day, hand=hand)
        for row in subjects.values()
    ]
    ClockStop.objects.bulk_create(
        ClockStop(program=day.program, fact=fact, **named) for fact in facts
    )
    _replay(facts, program=day.program, today=day.on)
    return len(facts)


def restart_clocks(*, cause: ReturnedLetter | Objection, day: Day, hand: Hand) -> int:
    """End the stops of a cause; where no other stop is left the clock goes on from where it stood.

    Returns how many subjects it stopped.
    """
    mine = Q(returned=cause) if isinstance(cause, ReturnedLetter) else Q(objection=cause)
    stops = list(
        ClockStop.objects.filter(mine, ended_at__isnull=True)
        .select_related("fact__connection")
        .order_by("pk")
    )
    ClockStop.objects.filter(pk__in=[stop.pk for stop in stops]).update(ended_at=hand.at)
    facts = [stop.fact for stop in stops if stop.fact.withdrawn_at is None]
    for fact in facts:
        _let_run(fact, cause=cause, day=day, hand=hand)
    _replay(facts, program=day.program, today=day.on)
    return len(facts)


def go_on(premises_ids: Collection[int], *, program: Program, today: date) -> None:
    """Have the next run look at everything open at these premises: a hold began or ended."""
    Obligation.objects.filter(
        at_premises(premises_ids),
        program=program,
        opened_on__isnull=False,
        closed_on__isnull=True,
    ).update(next_action_on=today)


def _let_run(fact: Fact, *, cause: ReturnedLetter | Objection, day: Day, hand: Hand) -> None:
    """End a stop: one of this very day is withdrawn, an older one restarted.

    Within a day a restart is read before a stop, so it could not end one of the same day.
    """
    if fact.on >= day.on:
        withdraw_facts(
            program=day.program,
            fact_ids=[fact.pk],
            at=hand.at,
            by=hand.by,
            reason=hand.reason or "It ended the day it began.",
        )
        return
    _record_at(fact, kind=FactKind.RESTARTED, cause=cause, day=day, hand=hand)


def _record(
    row: Obligation, *, kind: FactKind, cause: ReturnedLetter | Objection, day: Day, hand: Hand
) -> Fact:
    like = Fact(
        assembly_id=row.assembly_id, connection_id=row.connection_id, premises_id=row.premises_id
    )
    return _record_at(like, kind=kind, cause=cause, day=day, hand=hand)


def _record_at(
    like: Fact, *, kind: FactKind, cause: ReturnedLetter | Objection, day: Day, hand: Hand
) -> Fact:
    what = "returned letter" if isinstance(cause, ReturnedLetter) else "objection"
    ref = f"{what} {cause.pk}"
    named = like.detail.get("cause", "") if kind is FactKind.RESTARTED else ref
    if like.assembly_id is not None:
        (fact,) = record_facts(
            program=day.program,
            facts=[
                NewFact(
                    assembly_id=like.assembly_id,
                    kind=kind,
                    on=day.on,
                    cause=named,
                    source=SOURCE,
                    source_ref=ref,
                    reason=hand.reason[:500],
                )
            ],
            recorded_at=hand.at,
            by=hand.by,
            today=day.on,
        )
        return fact
    return Fact.objects.create(
        program=day.program,
        connection_id=like.connection_id,
        premises_id=like.premises_id,
        kind=kind.value,
        on=day.on,
        detail={"cause": named} if named else {},
        source=SOURCE,
        source_ref=ref,
        recorded_at=hand.at,
        by=hand.by,
        reason=hand.reason[:500],
    )


def _replay(facts: Iterable[Fact], *, program: Program, today: date) -> None:
    """Work out what follows for the subjects of these facts."""
    told = list(facts)
    assemblies = {fact.assembly_id for fact in told if fact.assembly_id is not None}
    places = {fact.premises_id for fact in told if fact.premises_id is not None}
    places |= {fact.connection.premises_id for fact in told if fact.connection is not None}
    if assemblies:
        replay_assemblies(program=program, assembly_ids=assemblies, as_of=today)
    if places:
        replay_premises(program=program, premises_ids=places, as_of=today)
