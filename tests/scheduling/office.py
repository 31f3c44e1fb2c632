"""A small office in rows, and short words for recording facts in it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime
from decimal import Decimal

from registry.domain.kinds import AssemblyType, Hazard, Protects
from registry.models import Assembly, Premises, Program, ServiceConnection
from scheduling.actions.adoption import ensure_rulebooks, put_in_force
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import ReplayTally, replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

RECORDED = datetime(2024, 1, 2, 12, tzinfo=UTC)
LOADED = datetime(2025, 11, 25, 12, tzinfo=UTC)


def made_program(*, code: str = "tamarack", rulebook: str = "plain-rolling") -> Program:
    """A program with a rulebook in force from the start."""
    program = Program.objects.create(code=code, name="Tamarack Flats", created_at=RECORDED)
    ensure_rulebooks()
    put_in_force(program=program, name=rulebook, effective_on=date(2024, 1, 1), at=RECORDED)
    return program


def made_assembly(
    program: Program,
    *,
    serial: str = "A100",
    type_: AssemblyType = AssemblyType.DC,
    hazard: Hazard = Hazard.LOW,
    created_at: datetime = LOADED,
) -> Assembly:
    """One assembly at a premises of its own."""
    premises = Premises.objects.create(
        program=program, name=f"Premises {serial}", address=f"{serial} Yarrow Ct", key=serial
    )
    connection = ServiceConnection.objects.create(premises=premises)
    return Assembly.objects.create(
        program=program,
        premises=premises,
        connection=connection,
        type=type_,
        serial=serial,
        serial_key=serial,
        maker="Northfork",
        maker_key="NORTHFORK",
        size_in=Decimal(1),
        protects=Protects.CONTAINMENT,
        hazard=hazard,
        created_at=created_at,
    )


def recorded(
    assembly: Assembly,
    *told: tuple[FactKind, date],
    at: datetime = RECORDED,
) -> list[Fact]:
    """Record facts about an assembly."""
    facts = [
        NewFact(assembly_id=assembly.pk, kind=kind, on=on, source="stated") for kind, on in told
    ]
    return record_facts(program=assembly.program, facts=facts, recorded_at=at, by="clerk")


def replayed(assemblies: Iterable[Assembly], *, as_of: date) -> ReplayTally:
    """Replay these assemblies of one program."""
    found = list(assemblies)
    return replay_assemblies(
        program=found[0].program, assembly_ids=[each.pk for each in found], as_of=as_of
    )
