"""Offices of an invented district with assemblies, made through the real actions."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from registry.models import (
    Assembly,
    HazardAssessment,
    LoadBatch,
    Party,
    Premises,
    PremisesParty,
    Program,
    ServiceConnection,
)
from scheduling.actions.adoption import ensure_rulebooks, put_in_force
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind

START = date(2026, 1, 5)
AT = datetime(2026, 1, 5, 12, tzinfo=UTC)
Facts = Sequence[tuple[str, date]]


def office(code: str = "flats", *, rulebook: str = "plain-rolling", **changes: Any) -> Program:
    """Make a trial program, loaded on January 5, 2026."""
    ensure_rulebooks()
    values: dict[str, Any] = {
        "name": "Tamarack Flats Water District",
        "is_trial": True,
        "zone": "America/Los_Angeles",
        "created_at": AT,
        "letterhead": {"name": "Tamarack Flats Water District", "phone": "(555) 010-0142"},
        **changes,
    }
    program = Program.objects.create(code=code, **values)
    put_in_force(program=program, name=rulebook, effective_on=START)
    LoadBatch.objects.create(program=program, what="registry", as_of=START, at=AT)
    return program


def owner(program: Program, name: str = "Larch Court Apartments", **changes: Any) -> Party:
    """Make a party with a full mailing address."""
    values = {
        "address": "230 Larch Court",
        "city": "Tamarack Flats",
        "state": "WA",
        "zip": "99171",
        "key": name,
        **changes,
    }
    return Party.objects.create(program=program, name=name, **values)


def premises(program: Program, number: int = 230, *, of: Party | None, **changes: Any) -> Premises:
    """Make a premises, owned by `of`."""
    values = {
        "account": f"{number}",
        "address": f"{number} Larch Court",
        "city": "Tamarack Flats",
        "state": "WA",
        "zip": "99171",
        "key": f"{number}",
        **changes,
    }
    place = Premises.objects.create(program=program, **values)
    if of is not None:
        PremisesParty.objects.create(premises=place, party=of, role="owner")
    return place


def assembly(
    place: Premises,
    serial: str = "S1",
    *,
    facts: Facts = (),
    hazard: str = "low",
    service: str = "domestic",
    as_of: date = START,
    **changes: Any,
) -> Assembly:
    """Make an assembly with its facts, replayed as of the day."""
    connection, _ = ServiceConnection.objects.get_or_create(premises=place, kind=service)
    values = {"type": "DC", "size_in": Decimal("1.5"), "location": "meter room", **changes}
    made = Assembly.objects.create(
        program=place.program,
        premises=place,
        connection=connection,
        serial=serial,
        serial_key=serial,
        hazard=hazard,
        created_at=AT,
        **values,
    )
    if hazard != "not assessed":
        HazardAssessment.objects.create(
            premises=place, assembly=made, assessed_on=START, hazard=hazard, recorded_at=AT
        )
    happened(made, facts, as_of=as_of)
    return made


def happened(one: Assembly, facts: Facts, *, as_of: date) -> None:
    """Record facts of an assembly and replay it."""
    at = datetime(as_of.year, as_of.month, as_of.day, 12, tzinfo=UTC)
    new = [
        NewFact(assembly_id=one.pk, kind=FactKind(kind), on=on, source="person")
        for kind, on in facts
    ]
    record_facts(program=one.program, facts=new, recorded_at=at, by="a test")
    replay_assemblies(program=one.program, assembly_ids=[one.pk], as_of=as_of)


def district(count: int) -> Program:
    """Make a district of `count` premises: some due soon, some overdue, some failed."""
    program = office(languages="en,es")
    facts: list[NewFact] = []
    for number in range(count):
        place = premises(program, number, of=owner(program, f"Owner {number} <& Co>"))
        connection = ServiceConnection.objects.create(premises=place, kind="domestic")
        made = Assembly.objects.create(
            program=program,
            premises=place,
            connection=connection,
            type="DC",
            serial=f"S{number:05d}",
            serial_key=f"S{number:05d}",
            size_in=Decimal("0.75"),
            location="meter room",
            hazard=("high", "low", "not assessed")[number % 3],
            created_at=AT,
        )
        passed = START - timedelta(days=300 + number * 7 % 400)
        facts.append(NewFact(assembly_id=made.pk, kind=FactKind.PASSED, on=passed))
        if number % 10 == 3:
            facts.append(NewFact(assembly_id=made.pk, kind=FactKind.FAILED, on=START))
    record_facts(program=program, facts=facts, recorded_at=AT, by="a test")
    replay_assemblies(program=program, assembly_ids=None, as_of=START, at=AT)
    return program
