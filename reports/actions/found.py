"""An assembly found in the field: a person takes it as new, or as another's replacement.

As a misread serial it is taken by `deciding.take_field_test_as`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from registry.changes import Hand, record_change
from registry.domain.kinds import AssemblyType, Hazard, Protects
from registry.models import Assembly, Premises, Program, ServiceConnection
from reports.actions.deciding import DecisionError, take_field_test_as
from reports.models import FieldTest, FoundAssembly
from scheduling.actions.by_hand.assemblies import keep_assembly
from scheduling.actions.by_hand.premises import keep_premises
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind

NEW, REPLACEMENT = "new", "replacement"


@dataclass(frozen=True, kw_only=True)
class FoundTold:
    """What a person writes down of an assembly that a report found."""

    type: AssemblyType
    maker: str
    serial: str
    model: str
    size_in: Decimal
    location: str
    address: str = ""
    city: str = ""
    name: str = ""
    was_installed_now: bool = False


@transaction.atomic
def accept_as_new(
    *,
    program: Program,
    found_id: int,
    premises_id: int | None,
    told: FoundTold,
    today: date,
    hand: Hand,
) -> FieldTest:
    """Make a registry row of a found assembly, at a premises there is or at a new one.

    The report is then weighed for it; where it counts it brings its fact, and the assembly is
    replayed. Raises DecisionError and RefusedChangeError.
    """
    found = _waiting(program=program, found_id=found_id)
    premises = _premises(program=program, premises_id=premises_id, told=told, hand=hand)
    connection = premises.connections.order_by("pk").first()
    if connection is None:
        connection = ServiceConnection.objects.create(premises=premises)
    on = found.field_test.tested_on
    assembly = keep_assembly(
        program=program,
        premises=premises,
        assembly=None,
        values=_values(told, connection=connection),
        installed_on=on if told.was_installed_now else None,
        today=today,
        hand=hand,
    )
    return _taken(found, assembly=assembly, how=NEW, today=today, hand=hand)


@transaction.atomic
def accept_as_replacement(
    *, program: Program, found_id: int, old_id: int, told: FoundTold, today: date, hand: Hand
) -> FieldTest:
    """Record in one step that a found assembly took another's place on the day of its test.

    The old one is removed that day and points to the new one, which stands on its service
    connection and against its hazard. Raises DecisionError and RefusedChangeError.
    """
    found = _waiting(program=program, found_id=found_id)
    old = _old(program=program, old_id=old_id)
    on = found.field_test.tested_on
    values = _values(told, connection=old.connection)
    new = keep_assembly(
        program=program,
        premises=old.premises,
        assembly=None,
        values={**values, "protects": old.protects, "hazard": old.hazard},
        installed_on=on,
        today=today,
        hand=hand,
    )
    replace_assembly(old=old, new=new, on=on, today=today, hand=hand)
    return _taken(found, assembly=new, how=REPLACEMENT, today=today, hand=hand)


@transaction.atomic
def replace_assembly(*, old: Assembly, new: Assembly, on: date, today: date, hand: Hand) -> None:
    """Take an assembly out on the day another took its place. Raises DecisionError."""
    if old.pk == new.pk or old.program_id != new.program_id:
        raise DecisionError(field="old", message="An assembly is replaced by another one.")
    _old(program=old.program, old_id=old.pk)
    fact = NewFact(
        assembly_id=old.pk,
        kind=FactKind.REMOVED,
        on=on,
        reason=f"replaced by {new.serial}"[:500],
        detail={"words": f"replaced by {new.serial}"},
    )
    record_facts(program=old.program, facts=[fact], recorded_at=hand.at, by=hand.by, today=today)
    old.replaced_by = new
    old.save(update_fields=["replaced_by"])
    record_change(
        hand=hand,
        what="assembly",
        subject_id=old.pk,
        label=str(old),
        before={"replaced_by": None},
        after={"replaced_by": new.serial},
        program=old.program,
    )
    replay_assemblies(program=old.program, assembly_ids=[old.pk], as_of=today)


def _waiting(*, program: Program, found_id: int) -> FoundAssembly:
    rows = FoundAssembly.objects.select_for_update().filter(program=program, pk=found_id)
    found = rows.select_related(None).first()
    if found is None:
        raise DecisionError(field="found", message="This program has no such assembly found.")
    if found.settled_at is not None:
        raise DecisionError(field="found", message="Somebody settled it before.")
    return found


def _old(*, program: Program, old_id: int) -> Assembly:
    old = (
        Assembly.objects.filter(program=program, pk=old_id)
        .select_related("premises", "connection", "state", "program")
        .first()
    )
    if old is None:
        raise DecisionError(field="old", message="This program has no such assembly.")
    state = getattr(old, "state", None)
    if state is not None and state.removed_on is not None:
        message = f"{old.serial} was taken out on {state.removed_on} already."
        raise DecisionError(field="old", message=message)
    return old


def _premises(
    *, program: Program, premises_id: int | None, told: FoundTold, hand: Hand
) -> Premises:
    if premises_id is not None:
        premises = Premises.objects.filter(program=program, pk=premises_id).first()
        if premises is None:
            raise DecisionError(field="premises", message="This program has no such premises.")
        return premises
    if not told.address.strip():
        message = "Choose the premises, or write the address of a new one."
        raise RefusedChangeError(field="address", message=message)
    values = {"account": "", "address": told.address, "city": told.city, "name": told.name}
    return keep_premises(program=program, premises=None, values=values, hand=hand)


def _values(told: FoundTold, *, connection: ServiceConnection) -> dict[str, object]:
    return {
        "type": told.type.value,
        "maker": told.maker,
        "serial": told.serial,
        "model": told.model,
        "size_in": told.size_in,
        "location": told.location,
        "connection": connection,
        "protects": Protects.CONTAINMENT.value,
        "hazard": Hazard.NOT_ASSESSED.value,
    }


def _taken(
    found: FoundAssembly, *, assembly: Assembly, how: str, today: date, hand: Hand
) -> FieldTest:
    return take_field_test_as(
        program=found.program,
        test_id=found.field_test_id,
        assembly_id=assembly.pk,
        as_of=today,
        hand=hand,
        how=how,
    )
