"""What is stored in the database against the oracle, after facts came late and wrong ones went.

Many random histories live in one program. Their facts arrive in three parts and in no order,
some that never happened are withdrawn again, and the days between are replayed and opened.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time
from random import Random
from typing import Any

import pytest

from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Assembly, Program
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.models import Obligation
from scheduling.queries.standings import explain_assembly, standing_rows
from tests.oracle.dayloop import answer
from tests.oracle.generator import BOOKS, WORDS, History, histories
from tests.oracle.rules import days
from tests.scheduling.office import made_assembly, made_program

AS_OF = date(2025, 11, 25)
NOON = datetime.combine(AS_OF, time(12), tzinfo=UTC)
STEPS = (date(2024, 6, 1), date(2025, 3, 3), AS_OF)


def made(program: Program, number: int, history: History) -> Assembly:
    return made_assembly(
        program,
        serial=f"N{number}",
        type_=AssemblyType(history.kind),
        hazard=Hazard(history.hazard or "not assessed"),
        created_at=NOON,
    )


def arrive(program: Program, told: list[tuple[Assembly, str, date]]) -> list[int]:
    new = [
        NewFact(assembly_id=assembly.pk, kind=FactKind(word), on=on, source="stated")
        for assembly, word, on in told
    ]
    rows = record_facts(program=program, facts=new, recorded_at=NOON, by="clerk")
    return [row.pk for row in rows]


def invented(random: Random, assemblies: list[Assembly]) -> list[tuple[Assembly, str, date]]:
    """Facts that never happened, to be withdrawn."""
    return [
        (random.choice(assemblies), random.choice(WORDS), AS_OF - days(random.randrange(2000)))
        for _ in assemblies
    ]


def live(program: Program, assemblies: list[Assembly], known: list[History]) -> None:
    """Let the facts arrive in parts, with wrong ones among them, and the days pass."""
    random = Random(11)
    told = [
        (assembly, word, on)
        for assembly, history in zip(assemblies, known, strict=True)
        for word, on in history.facts
    ]
    random.shuffle(told)
    wrong = arrive(program, invented(random, assemblies))
    for number, today in enumerate(STEPS):
        arrive(program, told[number :: len(STEPS)])
        replay_assemblies(program=program, assembly_ids=None, as_of=today)
        open_obligations(program=program, as_of=today)
    withdraw_facts(program=program, fact_ids=wrong, at=NOON, reason="never happened", by="clerk")
    replay_assemblies(program=program, assembly_ids=None, as_of=AS_OF)
    open_obligations(program=program, as_of=AS_OF)


def expected_of(book: str, history: History) -> dict[str, Any]:
    found = answer(
        rulebook=book,
        kind=history.kind,
        hazard=history.hazard,
        facts=history.facts,
        as_of=AS_OF,
    )
    written: dict[str, Any] = json.loads(json.dumps(found, default=date.isoformat))
    return written


def closed_rows(assembly: Assembly) -> list[tuple[str, str, str | None, str, str]]:
    rows = Obligation.objects.filter(assembly=assembly, closed_on__isnull=False)
    return sorted(
        (
            row.opens_on.isoformat(),
            row.due_on.isoformat(),
            row.cure_by.isoformat() if row.cure_by else None,
            row.closed_how,
            row.closed_on.isoformat() if row.closed_on else "",
        )
        for row in rows.exclude(closed_how="superseded")
    )


def closed_expected(found: dict[str, Any]) -> list[tuple[str, str, str | None, str, str]]:
    names = ("opens_on", "due_on", "cure_by", "closed_how", "closed_on")
    rows = [tuple(row[name] for name in names) for row in found["obligations"]]
    return sorted(row for row in rows if row[3])


@pytest.mark.django_db
@pytest.mark.parametrize("book", BOOKS)
def test_the_stored_rows_say_what_the_oracle_says(book: str) -> None:
    program = made_program(code="grove", rulebook=book)
    known = list(histories(seed=len(book) * 3, count=150))
    assemblies = [made(program, number, history) for number, history in enumerate(known)]
    live(program, assemblies, known)
    stands = {row.assembly_id: row for row in standing_rows(program=program, as_of=AS_OF)}
    wrong = []
    for assembly, history in zip(assemblies, known, strict=True):
        mine = expected_of(book, history)
        row = stands[assembly.pk]
        dates = {"standing": row.standing.value, "opens_on": row.opens_on, "due_on": row.due_on}
        stored = json.loads(json.dumps(dates, default=date.isoformat))
        told = explain_assembly(assembly=assembly, as_of=AS_OF).to_json()
        if (
            stored != {key: mine[key] for key in stored}
            or mine != {key: told[key] for key in mine}
            or closed_rows(assembly) != closed_expected(mine)
        ):
            wrong.append((history, mine, stored, told, closed_rows(assembly)))
    assert wrong == []
