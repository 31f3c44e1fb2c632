"""What is stored is what replay finds, for rulebooks that hold every kind of rule.

Facts arrive one by one and in no order, days pass and open what is due, some facts are withdrawn.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import count
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Assembly, Program
from scheduling.actions.adoption import put_in_force
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_toml import write_rulebook
from scheduling.models import Obligation
from scheduling.models import Rulebook as RulebookRow
from scheduling.queries.obligations import key_of
from scheduling.queries.standings import explain_assembly, ledger_of
from tests.domain.scheduling.places.generated import FACTS, rulebooks
from tests.scheduling.office import RECORDED, made_assembly, made_program

NUMBERS = count()
NOON = datetime(2026, 12, 31, 12, tzinfo=UTC)
ENDS = (FactKind.EXTENDED, FactKind.HELD, FactKind.IDLED, FactKind.EXEMPTED)


def adopted(program: Program, book: Rulebook) -> None:
    """Keep a generated rulebook as one of the program's and put it in force from the start."""
    book = replace(book, name=f"generated-{next(NUMBERS)}", gap_list=(), waivers=())
    text = write_rulebook(book)
    RulebookRow.objects.create(
        name=book.name,
        program=program,
        title=book.title[:200],
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        loaded_at=RECORDED,
    )
    put_in_force(program=program, name=book.name, effective_on=date(2024, 1, 1), at=RECORDED)


def new_fact(assembly: Assembly, fact: Fact) -> NewFact:
    """The fact as it comes in; an end before its beginning is refused at the door."""
    until = fact.until or fact.on
    return NewFact(
        assembly_id=assembly.pk,
        kind=fact.kind,
        on=fact.on,
        work=fact.work,
        found_failed=fact.found_failed,
        repaired_inside=fact.repaired_inside,
        until=max(until, fact.on + timedelta(days=1)) if fact.kind in ENDS else None,
        hindrance=fact.hindrance if fact.kind is FactKind.UNTESTABLE else None,
        source="stated",
    )


def dates_stored(assembly: Assembly) -> list[tuple[Any, ...]]:
    rows = Obligation.objects.filter(assembly=assembly).exclude(closed_how="superseded")
    return sorted(
        (key_of(row), row.opens_on, row.due_on, row.cure_by, row.closed_on, row.closed_how)
        for row in rows
    )


def dates_replayed(assembly: Assembly, *, as_of: date) -> list[tuple[Any, ...]]:
    ledger = ledger_of(assembly=assembly, as_of=as_of)
    return sorted(
        (o.key, o.opens_on, o.due_on, o.cure_by, o.closed_on, o.closed_how or "")
        for o in (*ledger.obligations, *ledger.coming)
    )


@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    book=rulebooks(),
    told=FACTS,
    type_=st.sampled_from([AssemblyType.RP, AssemblyType.DC, AssemblyType.PVB, AssemblyType.AG]),
    hazard=st.sampled_from(Hazard),
    days=st.lists(st.dates(date(2024, 1, 1), date(2026, 12, 31)), min_size=1, max_size=3),
    withdrawn=st.sets(st.integers(0, 13), max_size=3),
)
@pytest.mark.django_db(transaction=False)
def test_what_is_stored_is_what_replay_finds_under_every_kind_of_rule(
    book: Rulebook,
    told: list[Fact],
    type_: AssemblyType,
    hazard: Hazard,
    days: list[date],
    withdrawn: set[int],
) -> None:
    code = f"every{next(NUMBERS)}"
    program = Program.objects.create(code=code, name="Tamarack Flats", created_at=RECORDED)
    adopted(program, book)
    assembly = made_assembly(program, type_=type_, hazard=hazard)
    rows = []
    for number, fact in enumerate(told):
        new = [new_fact(assembly, fact)]
        rows += record_facts(program=program, facts=new, recorded_at=NOON, by="clerk")
        day = days[number % len(days)]
        replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=day)
        open_obligations(program=program, as_of=day)
    gone = [rows[number].pk for number in withdrawn if number < len(rows)]
    withdraw_facts(program=program, fact_ids=gone, at=NOON, reason="wrong", by="clerk")
    last = max(days)
    replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=last)
    assert dates_stored(assembly) == dates_replayed(assembly, as_of=last)
    still_open = Obligation.objects.filter(assembly=assembly, closed_on=None, opened_on__lte=last)
    kinds = list(still_open.values_list("kind", flat=True))
    assert len(kinds) == len(set(kinds))


@pytest.mark.django_db
def test_a_target_from_levelling_decides_when_an_open_one_is_looked_at_next() -> None:
    """Passed 2025-03-04, due 2026-03-04, a reminder 45 days before; aimed at 2026-02-20."""
    program = made_program()
    assembly = made_assembly(program)
    new = [NewFact(assembly_id=assembly.pk, kind=FactKind.PASSED, on=date(2025, 3, 4))]
    record_facts(program=program, facts=new, recorded_at=NOON, by="clerk")
    day = date(2026, 1, 3)  # it opens sixty days before it is due
    replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=day)
    open_obligations(program=program, as_of=day)
    row = Obligation.objects.get(assembly=assembly, closed_on=None)
    assert row.next_action_on == date(2026, 1, 18)  # 4 March - 45 days
    Obligation.objects.filter(pk=row.pk).update(target_on=date(2026, 2, 20))
    replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=day)
    row.refresh_from_db()
    assert row.next_action_on == date(2026, 1, 6)  # 20 February - 45 days
    assert (row.due_on, row.target_on) == (date(2026, 3, 4), date(2026, 2, 20))
    told = explain_assembly(assembly=assembly, as_of=day)
    assert (told.rung, told.rung_on) == ("reminder", date(2026, 1, 6))
