"""A small program under rules in print for premises and services, and what happens there."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime
from decimal import Decimal

from registry.changes import Hand
from registry.domain.kinds import Hazard
from registry.models import Assembly, HazardAssessment, Premises, Program, ServiceConnection
from scheduling.actions.adoption import ensure_rulebooks, put_in_force
from scheduling.actions.facts import NewFact, record_facts
from scheduling.domain.facts import FactKind
from scheduling.models import Adoption, Obligation, Rulebook
from tests.domain.scheduling.places.protection_rules import PRINTED_TEXT

START = date(2026, 3, 2)
AT = datetime(2026, 3, 2, 20, tzinfo=UTC)


def moment(day: date) -> datetime:
    """Noon of a day where the program is."""
    return datetime(day.year, day.month, day.day, 20, tzinfo=UTC)


def hand(day: date) -> Hand:
    """The clerk on a day."""
    return Hand(by="clerk", at=moment(day), reason="")


def under_rules(program: Program, text: str = PRINTED_TEXT) -> None:
    """Let a program's rulebook be one of the test's own."""
    row = Rulebook.objects.create(
        name="printed",
        program=program,
        title="Rules in print",
        text=text,
        loaded_at=AT,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )
    Adoption.objects.filter(program=program).update(rulebook=row)


def waterworks(code: str = "works", *, text: str = PRINTED_TEXT) -> Program:
    """A trial program with the printed rules in force, begun on 2 March 2026."""
    ensure_rulebooks()
    program = Program.objects.create(
        code=code, name="Works", is_trial=True, zone="America/Los_Angeles", created_at=AT,
        letterhead={"name": "Tamarack Flats Water District", "phone": "(555) 010-0142"},
    )  # fmt: skip
    put_in_force(program=program, name="plain-rolling", effective_on=date(2026, 1, 1), at=AT)
    under_rules(program, text)
    return program


def served(program: Program, number: int = 1, *, kind: str = "domestic", use: str = "office",
           on: date = START) -> ServiceConnection:  # fmt: skip
    """A premises with one service, entered on a day."""
    site = Premises.objects.create(
        program=program, account=f"{number}", address=f"{number} Larch Court", key=f"{number}",
        city="Tamarack Flats", state="WA", zip="99171", use=use, created_at=moment(on),
    )  # fmt: skip
    return ServiceConnection.objects.create(premises=site, kind=kind, created_at=moment(on))


def installed(service: ServiceConnection, type_: str, *, on: date) -> Assembly:
    """An assembly put on a service on a day, not replayed."""
    number = Assembly.objects.count()
    made = Assembly.objects.create(
        program=service.premises.program, premises=service.premises, connection=service,
        type=type_, serial=f"W{number}", serial_key=f"W{number}", size_in=Decimal(1),
        created_at=moment(on),
    )  # fmt: skip
    told(made, FactKind.INSTALLED, on=on)
    return made


def told(assembly: Assembly, kind: FactKind, *, on: date) -> None:
    """Record a fact of an assembly on its day."""
    record_facts(
        program=assembly.program,
        facts=[NewFact(assembly_id=assembly.pk, kind=kind, on=on)],
        recorded_at=moment(on),
        by="clerk",
    )


def surveyed(site: Premises, hazard: str, *, on: date) -> None:
    """Record a survey without working anything out."""
    HazardAssessment.objects.create(
        premises=site, assessed_on=on, hazard=Hazard(hazard), recorded_at=moment(on)
    )


def lines(program: Program, kind: str = "protection") -> list[str]:
    """Every stored obligation of a kind of work: opens, due, and how it closed."""
    rows = Obligation.objects.filter(program=program, kind=kind).order_by("opens_on", "pk")
    return [
        f"{row.opens_on} due {row.due_on}"
        + (f" {row.closed_how} {row.closed_on}" if row.closed_on else "")
        for row in rows
    ]
