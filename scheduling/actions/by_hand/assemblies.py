"""An assembly changed by a person: its row, its dated hazard, its facts, its obligations."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.db import transaction

from registry.changes import Hand
from registry.domain.identity import maker_key, serial_key
from registry.domain.kinds import Hazard
from registry.models import (
    Assembly,
    HazardAssessment,
    Premises,
    Program,
    ServiceConnection,
)
from scheduling.actions.by_hand.rows import RefusedChangeError, keep_once
from scheduling.actions.by_hand.stops import causes_to_end
from scheduling.actions.by_hand.surveys import change_service, follow_premises
from scheduling.actions.facts import FactError, NewFact, record_facts, withdraw_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.fact_checks import fact_faults
from scheduling.domain.facts import Fact as DomainFact
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.models import Fact


@transaction.atomic
def keep_assembly(
    *,
    program: Program,
    premises: Premises,
    assembly: Assembly | None,
    values: Mapping[str, Any],
    installed_on: date | None = None,
    since: date | None = None,
    today: date,
    hand: Hand,
) -> Assembly:
    """Write an assembly and replay it. `installed_on` is for a new one, where it is known.

    `since`: type, service and what it protects hold from that day on, and before it stays
    what was; None: it was always so. Raises RefusedChangeError where maker and serial are
    taken in this program, and for a `since` that cannot be.
    """
    is_new = assembly is None
    row = assembly or Assembly(program=program, premises=premises, created_at=hand.at)
    was = None if is_new else row.hazard
    kept = {
        **values,
        "maker_key": maker_key(values["maker"]),
        "serial_key": serial_key(values["serial"]),
    }
    if not is_new and since is not None:
        before = row.connection
        changed = row.type != values["type"] or row.protects != values["protects"]
        if changed or before.pk != values["connection"].pk:
            remember(assemblies=[row], since=since, today=today, hand=hand)
            kept["was"] = row.was
    taken = RefusedChangeError(
        field="serial",
        message="This maker and serial are on record already. Open that assembly, or mend these.",
    )
    row = keep_once(row, values=kept, hand=hand, program=program, refusal=taken)
    if row.hazard != was and not (is_new and row.hazard == Hazard.NOT_ASSESSED):
        _note_hazard(row, on=today, hand=hand)
    if is_new and installed_on:
        _install(row, on=installed_on, today=today, hand=hand)
    replay_assemblies(program=program, assembly_ids=[row.pk], as_of=today)
    return row


def _note_hazard(row: Assembly, *, on: date, hand: Hand) -> None:
    HazardAssessment.objects.create(
        premises=row.premises,
        assembly=row,
        assessed_on=on,
        hazard=row.hazard,
        recorded_at=hand.at,
        by=hand.by,
        finding=hand.reason,
    )


def _install(row: Assembly, *, on: date, today: date, hand: Hand) -> None:
    fact = NewFact(assembly_id=row.pk, kind=FactKind.INSTALLED, on=on)
    record_facts(program=row.program, facts=[fact], recorded_at=hand.at, by=hand.by, today=today)


def remember(
    *, assemblies: Iterable[Assembly], since: date, today: date, hand: Hand
) -> list[Assembly]:
    """Note on each what it was until a day; the rows are not written. Raises RefusedChangeError.

    Each needs its connection and its premises as they were before the change.
    """
    noted = list(assemblies)
    if since > today:
        message = f"{since} has not come yet: write it down on that day."
        raise RefusedChangeError(field="since", message=message)
    for one in noted:
        newest = max((entry["until"] for entry in one.was or ()), default="")
        if newest >= since.isoformat():
            raise RefusedChangeError(
                field="since",
                message=f"{one.serial} changed on {newest} already: choose a later day.",
            )
        one.was = [*(one.was or ()), _as_it_was(one, until=since, hand=hand)]
    return noted


def _as_it_was(one: Assembly, *, until: date, hand: Hand) -> dict[str, Any]:
    return {
        "until": until.isoformat(),
        "recorded_at": hand.at.isoformat(),
        "type": str(one.type),
        "protects": str(one.protects),
        "service": str(one.connection.kind),
        "has_chemicals": one.connection.has_chemicals,
        "runs_part_year": one.connection.runs_part_year,
        "use": one.premises.use,
    }


@transaction.atomic
def change_service_from(
    *,
    premises: Premises,
    connection: ServiceConnection,
    values: Mapping[str, Any],
    since: date,
    today: date,
    hand: Hand,
) -> ServiceConnection:
    """Change a service connection from a day on; its assemblies stay before it what they were.

    Raises RefusedChangeError.
    """
    on_it = connection.assemblies.select_related("connection", "premises").order_by("pk")
    noted = remember(assemblies=on_it, since=since, today=today, hand=hand)
    Assembly.objects.bulk_update(noted, ["was"], batch_size=200)
    return change_service(
        premises=premises,
        connection=connection,
        values=values,
        today=today,
        hand=hand,
        since=since,
    )


@transaction.atomic
def add_fact(
    *,
    assembly: Assembly,
    kind: FactKind,
    on: date,
    work: str = "test",
    hindrance: Hindrance | None = None,
    words: str = "",
    today: date,
    hand: Hand,
) -> None:
    """Record one fact by hand and replay its assembly.

    Raises FactError for a day that cannot be, for a pass before the installation on record, and
    for a clock restarted that a letter or an objection stopped.
    """
    causes = [""]
    if kind is FactKind.RESTARTED:
        causes = causes_to_end(Fact.objects.filter(assembly=assembly), on=on)
    facts = [
        NewFact(
            assembly_id=assembly.pk,
            kind=kind,
            on=on,
            work=work,
            hindrance=hindrance,
            cause=cause,
            reason=hand.reason,
            detail={"words": words} if words else None,
        )
        for cause in causes
    ]
    _refuse_what_cannot_be(facts[0], today=today)
    record_facts(
        program=assembly.program, facts=facts, recorded_at=hand.at, by=hand.by, today=today
    )
    replay_assemblies(program=assembly.program, assembly_ids=[assembly.pk], as_of=today)


def _refuse_what_cannot_be(fact: NewFact, *, today: date) -> None:
    """Refuse a fact that contradicts what is on record of its assembly."""
    rows = Fact.objects.filter(assembly=fact.assembly_id, withdrawn_at__isnull=True)
    told = rows.filter(kind__in=(FactKind.INSTALLED, FactKind.PASSED))
    known = [DomainFact(kind=FactKind(kind), on=on) for kind, on in told.values_list("kind", "on")]
    faults = fact_faults(facts=[fact.plain], known=known, today=today)
    if faults:
        raise FactError(field="on", message=" ".join(faults))


@transaction.atomic
def take_back_fact(*, fact: Fact, today: date, hand: Hand) -> None:
    """Withdraw one fact with the reason in `hand`, and replay what it is about."""
    withdraw_facts(
        program=fact.program, fact_ids=[fact.pk], at=hand.at, reason=hand.reason, by=hand.by
    )
    if fact.assembly_id is not None:
        replay_assemblies(program=fact.program, assembly_ids=[fact.assembly_id], as_of=today)
        return
    premises_id = fact.premises_id or (fact.connection.premises_id if fact.connection else None)
    if premises_id is not None:
        follow_premises(program=fact.program, premises_ids=[premises_id], today=today)
