"""Rulebooks of places in an office: refused with their gaps, in force once a person closed them."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from registry.models import Program
from scheduling.actions.adoption import AdoptionError, ensure_rulebooks, put_in_force
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.domain.filling import waive_gap
from scheduling.domain.pauses import Pause
from scheduling.domain.rulebook_toml import write_rulebook
from scheduling.models import Adoption, Obligation, Rulebook
from scheduling.queries.obligations import as_domain
from scheduling.queries.shipped import shipped_names, shipped_rulebook
from tests.own_database import run_manage
from tests.scheduling.office import made_assembly, made_program

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
PLACES = [name for name in shipped_names() if shipped_rulebook(name).place]


@pytest.mark.django_db
@pytest.mark.parametrize("name", PLACES)
def test_a_place_with_gaps_is_kept_and_refused_with_every_gap_named(name: str) -> None:
    program = Program.objects.create(code="p", name="P", created_at=NOW)
    ensure_rulebooks()
    with pytest.raises(AdoptionError) as error:
        put_in_force(program=program, name=name, effective_on=date(2026, 1, 1))
    for gap in shipped_rulebook(name).gaps:
        assert gap in str(error.value)
    assert not Adoption.objects.exists()
    assert Rulebook.objects.get(name=name).gaps == list(shipped_rulebook(name).gaps)


@pytest.mark.django_db
def test_a_place_whose_gaps_are_waived_is_put_in_force_and_lived_by() -> None:
    # Michigan R 325.11404: every 3 years; residential use alone does not make it five
    program = Program.objects.create(code="p", name="P", created_at=NOW)
    book = shipped_rulebook("michigan")
    for gap in book.gaps:
        book = waive_gap(book, name=gap, by="A. Clerk", on=date(2026, 1, 2), reason="by the board")
    text = write_rulebook(book)
    Rulebook.objects.create(
        name="ours",
        program=program,
        title=book.title,
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        gaps=list(book.gaps),
        loaded_at=NOW,
    )
    put_in_force(program=program, name="ours", effective_on=date(2024, 1, 1), at=NOW)
    plain, lawn = made_assembly(program, serial="A1"), made_assembly(program, serial="A2")
    lawn.connection.kind, lawn.connection.has_chemicals = "irrigation", False
    lawn.connection.save()
    passed = [
        NewFact(assembly_id=each.pk, kind=FactKind.PASSED, on=date(2024, 2, 29))
        for each in (plain, lawn)
    ]
    record_facts(program=program, facts=passed, recorded_at=NOW, by="A. Clerk")
    replay_assemblies(program=program, assembly_ids=None, as_of=date(2026, 6, 1))
    assert [
        Obligation.objects.get(assembly=each, closed_on=None).due_on for each in (plain, lawn)
    ] == [date(2027, 2, 28), date(2029, 2, 28)]


@pytest.mark.django_db
def test_a_hold_is_stored_with_the_obligation_and_read_back() -> None:
    program = made_program()
    assembly = made_assembly(program)
    told = [
        NewFact(assembly_id=assembly.pk, kind=FactKind.PASSED, on=date(2025, 6, 1)),
        NewFact(
            assembly_id=assembly.pk,
            kind=FactKind.HELD,
            on=date(2026, 5, 15),
            until=date(2026, 8, 31),
            reason="Elm Street is under construction",
        ),
    ]
    record_facts(program=program, facts=told, recorded_at=NOW, by="A. Clerk")
    replay_assemblies(program=program, assembly_ids=None, as_of=date(2026, 6, 1))
    row = Obligation.objects.get(assembly=assembly, closed_on=None)
    assert row.due_on == date(2026, 8, 31)
    assert as_domain(row).pauses == (Pause(date(2026, 5, 15), date(2026, 9, 1)),)


@pytest.mark.django_db(transaction=True)
def test_load_registry_with_a_place_ends_with_exit_2_and_the_gaps(
    own_database: str, tmp_path: Path
) -> None:
    sheet = tmp_path / "registry.csv"
    sheet.write_text("account,address,type,serial,hazard\nA1,1 Elm St,RP,S1,high\n")
    options = ("--program", "fresh", "--rulebook", "oregon", "--as-of", "2026-01-01", "--json")
    done = run_manage("load_registry", str(sheet), *options, database=own_database, check=False)
    assert done.returncode == 2
    said = json.loads(done.stdout)["error"]
    for gap in shipped_rulebook("oregon").gaps:
        assert gap in said
