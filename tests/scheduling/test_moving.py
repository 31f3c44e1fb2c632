"""The list of what a draft moves agrees with the comparison that counts it, and writes nothing."""

from __future__ import annotations

from collections import Counter
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.facts import FactKind
from scheduling.models import AssemblyState, Obligation
from scheduling.queries import moving
from scheduling.queries.comparing import Question, ask, compared
from scheduling.queries.moving import Move, Which, moves_after
from scheduling.queries.shipped import shipped_rulebook
from tests.scheduling.office import made_assembly, made_program, recorded, replayed
from tests.scheduling.test_comparing import TODAY, a_registry, yearly_only

pytestmark = pytest.mark.django_db


def all_moves(question: Question, which: Which = Which.ALL) -> list[Move]:
    return [
        move
        for looked in moves_after(question=question, after=0, which=which)
        for move in looked.moves
    ]


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("draft", ["plain-season", "plain-anniversary"])
def test_the_single_moves_add_up_to_the_comparison(
    monkeypatch: pytest.MonkeyPatch, seed: int, draft: str
) -> None:
    monkeypatch.setattr(moving, "AT_A_TIME", 7)
    monkeypatch.setattr(moving, "HISTORIES", 3)
    program = made_program()
    a_registry(program, number=30, seed=seed)
    told = list(Obligation.objects.order_by("pk").values_list())
    book = shipped_rulebook(draft)
    whole = compared(program=program, draft=book, effective_on=TODAY)
    question, _ = ask(program=program, draft=book, effective_on=TODAY)
    found = all_moves(question)
    assert Counter(move.days for move in found if move.days) == whole.moved_by
    assert sum(move.now is None for move in found) == whole.begins
    assert sum(move.then is None for move in found) == whole.ends
    assert len(all_moves(question, Which.EARLIER)) == whole.earlier
    assert len(all_moves(question, Which.LATER)) == whole.later
    assert sum(move.is_overdue_at_once for move in found) == whole.overdue_at_once
    assert whole.moved + whole.begins + whole.ends > 0
    assert list(Obligation.objects.order_by("pk").values_list()) == told


def test_a_move_says_from_when_to_when() -> None:
    program = made_program()
    one = made_assembly(program, type_=AssemblyType.RP, hazard=Hazard.HIGH)
    recorded(one, (FactKind.PASSED, date(2025, 9, 1)))
    replayed([one], as_of=TODAY)
    # plain-rolling: an RP on high hazard comes every six months; without that rule, every twelve
    assert AssemblyState.objects.get(assembly=one).due_on == date(2026, 3, 1)
    question, _ = ask(program=program, draft=yearly_only(), effective_on=TODAY)
    (move,) = all_moves(question)
    assert (move.now, move.then, move.days) == (date(2026, 3, 1), date(2026, 9, 1), 184)


def test_those_that_stand_alike_move_as_their_histories_say() -> None:
    """A hundred that passed on ten days: no history is read, and each move is what replay finds."""
    program = made_program()
    made = [
        made_assembly(program, serial=f"M{n}", type_=AssemblyType.RP, hazard=Hazard.HIGH)
        for n in range(100)
    ]
    for n, one in enumerate(made):
        recorded(one, (FactKind.PASSED, date(2025, 9, 1 + n % 10)))
    replayed(made, as_of=TODAY)
    question, _ = ask(program=program, draft=yearly_only(), effective_on=TODAY)
    with CaptureQueriesContext(connection) as asked:
        found = all_moves(question)
    assert len(found) == 100
    assert not [one for one in asked.captured_queries if "scheduling_fact" in _read_from(one)]
    ids = [one.pk for one in made]
    read = moving._moves_of_histories(question, ids=ids)
    assert sorted(read, key=lambda move: move.assembly_id) == found


def _read_from(query: dict[str, str]) -> str:
    """The table a query reads first."""
    return query["sql"].partition(" FROM ")[2].split(" ")[0]
