"""An assembly changed by a person: its row, its dated hazard, its facts, its obligations."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from registry.changes import Hand
from registry.domain.identity import maker_key, serial_key
from registry.domain.kinds import Hazard
from registry.models import Assembly, HazardAssessment, Premises, Program
from scheduling.actions.by_hand.rows import RefusedChangeError, keep_once
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
    installed_on: date | None,
    today: date,
    hand: Hand,
) -> Assembly:
    """Write an assembly and replay it. `installed_on` is for a new one, where it is known.

    Raises RefusedChangeError where maker and serial are taken in this program.
    """
    is_new = assembly is None
    row = assembly or Assembly(program=program, premises=premises, created_at=hand.at)
    was = None if is_new else row.hazard
    kept = {
        **values,
        "maker_key": maker_key(values["maker"]),
        "serial_key": serial_key(values["serial"]),
    }
    taken = RefusedChangeError(
        field="serial",
        message="This maker and serial are on record already. Open that assembly, or mend these.",
    )
    row = keep_once(row, values=kept, hand=hand, program=program, refusal=taken)
    if row.hazard != was and not (is_new and row.hazard == Hazard.NOT_ASSESSED):
        HazardAssessment.objects.create(
            premises=premises,
            assembly=row,
            assessed_on=today,
            hazard=row.hazard,
            recorded_at=hand.at,
            by=hand.by,
            finding=hand.reason,
        )
    if is_new and installed_on:
        fact = NewFact(assembly_id=row.pk, kind=FactKind.INSTALLED, on=installed_on)
        record_facts(program=program, facts=[fact], recorded_at=hand.at, by=hand.by, today=today)
    replay_assemblies(program=program, assembly_ids=[row.pk], as_of=today)
    return row


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

    Raises FactError for a day that cannot be, and for a pass before the installation on record.
    """
    fact = NewFact(
        assembly_id=assembly.pk,
        kind=kind,
        on=on,
        work=work,
        hindrance=hindrance,
        reason=hand.reason,
        detail={"words": words} if words else None,
    )
    _refuse_what_cannot_be(fact, today=today)
    record_facts(
        program=assembly.program, facts=[fact], recorded_at=hand.at, by=hand.by, today=today
    )
    replay_assemblies(program=assembly.program, assembly_ids=[assembly.pk], as_of=today)


def _refuse_what_cannot_be(fact: NewFact, *, today: date) -> None:
    """Refuse a fact that contradicts what is on record of its assembly."""
    rows = Fact.objects.filter(assembly=fact.assembly_id, withdrawn_at__isnull=True)
    told = rows.filter(kind__in=(FactKind.INSTALLED, FactKind.PASSED))
    known = [DomainFact(kind=FactKind(kind), on=on) for kind, on in told.values_list("kind", "on")]
    before = fact_faults(facts=known, today=today)
    faults = [
        said for said in fact_faults(facts=[*known, fact.plain], today=today) if said not in before
    ]
    if faults:
        raise FactError(field="on", message=" ".join(faults))


@transaction.atomic
def take_back_fact(*, fact: Fact, today: date, hand: Hand) -> None:
    """Withdraw one fact with the reason in `hand`, and replay its assembly."""
    withdraw_facts(
        program=fact.program, fact_ids=[fact.pk], at=hand.at, reason=hand.reason, by=hand.by
    )
    replay_assemblies(program=fact.program, assembly_ids=[fact.its_assembly_id], as_of=today)
