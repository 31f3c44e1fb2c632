"""Dates worked out in sets are those of replay, row by row, on lives of every usual kind."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import Any

import pytest
from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import F

from registry.models import Program
from scheduling.actions import recalculating
from scheduling.actions.recalculating import recalculate
from scheduling.actions.replaying import replay_assemblies
from scheduling.actions.rereading import reread
from scheduling.actions.states import DATES
from scheduling.models import Adoption, AssemblyState, Fact, Obligation, Rulebook
from tests.bench.million import filling
from tests.bench.million.lives import DAY, YESTERDAY
from tests.bench.million.stated import assert_replay_agrees

SIZE = 600
ROW = ("pk", "origin", "period", "opens_on", "due_on", "failed_on", "cure_by", "opened_on",
       "closed_on", "closed_how", "rulebook_id", "rule", "prompts", "detail",
       "next_action_on", "target_on", "likeness", "rounds")  # fmt: skip
REPEATS = (
    '\n[[repeat]]\nid = "repeat failures"\nfailures = 1\nof_last = 3\n'
    'every = "FREQ=MONTHLY;INTERVAL=6"\ncitation = "invented for this test"\n'
)
SHORTER = {
    'every = "FREQ=YEARLY"': 'every = "FREQ=MONTHLY;INTERVAL=10"',
    "opens_days = 60": "opens_days = 50",
    "BYMONTHDAY=31": "BYMONTHDAY=15",
}
LONGER = {
    'every = "FREQ=YEARLY"': 'every = "FREQ=YEARLY;INTERVAL=2"',
    "opens_days = 60": "opens_days = 90",
    "BYMONTH=5;BYMONTHDAY=31": "BYMONTH=6;BYMONTHDAY=30",
}


@pytest.fixture
def shares(db: None, monkeypatch: pytest.MonkeyPatch) -> list[filling.Share]:
    """A small registry of invented lives under the three teaching rulebooks."""
    monkeypatch.setattr(filling, "LIVES", 200)
    monkeypatch.setattr(filling, "settle", _next_ids)
    monkeypatch.setattr(filling, "without_indexes", _as_they_are)
    return filling.fill(size=SIZE)


def _next_ids(tables: list[Any]) -> None:
    with connection.cursor() as cursor:
        for command in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(command)


def _as_they_are(_tables: object) -> Any:
    return transaction.atomic()


def adopt(program: Program, *, swaps: dict[str, str], more: str = "") -> None:
    made = edition(program, swaps=swaps, more=more, number=99)
    Adoption.objects.create(
        program=program, rulebook=made, effective_on=DAY, recorded_at=filling.LATER
    )


def edition(program: Program, *, swaps: dict[str, str], more: str, number: int) -> Rulebook:
    row = Adoption.objects.select_related("rulebook").get(program=program).rulebook
    text = row.text + more
    for old, new in swaps.items():
        text = text.replace(old, new)
    assert text != row.text
    return Rulebook.objects.create(
        name=row.name,
        edition=number,
        program=program,
        title=row.title,
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        loaded_at=filling.AT,
    )


def stored(program: Program) -> tuple[list[Any], list[Any]]:
    rows = Obligation.objects.filter(program=program).order_by("pk").values_list(*ROW)
    states = AssemblyState.objects.filter(program=program).order_by("pk")
    return list(rows), list(states.values_list("assembly_id", *DATES))


def undone(work: Any, *, program: Program) -> tuple[list[Any], list[Any]]:
    with transaction.atomic():
        work()
        found = stored(program)
        transaction.set_rollback(True)
    return found


def test_the_generator_writes_what_replay_gives(shares: list[filling.Share]) -> None:
    assert assert_replay_agrees(shares) == 201


@pytest.mark.parametrize(
    ("swaps", "more"),
    [(SHORTER, ""), (LONGER, ""), (SHORTER, REPEATS)],
    ids=("shorter", "longer", "repeats"),
)
def test_a_change_of_rules_in_sets_is_that_of_replay(
    shares: list[filling.Share], swaps: dict[str, str], more: str
) -> None:
    for share in shares:
        program = share.program
        adopt(program, swaps=swaps, more=more)
        before = stored(program)
        in_sets = undone(
            lambda: recalculate(program=program, changed_on=DAY, as_of=DAY),  # noqa: B023
            program=program,
        )
        one_by_one = undone(
            lambda: replay_assemblies(program=program, assembly_ids=None, as_of=DAY),  # noqa: B023
            program=program,
        )
        assert in_sets == one_by_one
        assert in_sets != before


def test_how_the_last_rounds_ended_is_told_without_reading_histories(
    shares: list[filling.Share], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Many failed once; only what is out of the ordinary has its history read."""
    read: list[int] = []

    def kept(what: Any, *, ids: list[int], progress: Any = None) -> Any:
        read.extend(ids)
        return reread(what, ids=ids, progress=progress)

    monkeypatch.setattr(recalculating, "reread", kept)
    for share in shares:
        program = share.program
        failed = Fact.objects.filter(program=program, kind="failed").values("assembly").distinct()
        read.clear()
        adopt(program, swaps=SHORTER, more=REPEATS)
        recalculate(program=program, changed_on=DAY, as_of=DAY)
        assert failed.count() > 0
        assert len(read) < min(failed.count(), share.count // 10)


def test_rules_that_counted_failures_before_are_changed_in_sets_too(
    shares: list[filling.Share],
) -> None:
    for share in shares:
        program = share.program
        Adoption.objects.filter(program=program).update(
            rulebook=edition(program, swaps={}, more=REPEATS, number=98)
        )
        replay_assemblies(program=program, assembly_ids=None, as_of=YESTERDAY)
        adopt(program, swaps=SHORTER)
        in_sets = undone(
            lambda: recalculate(program=program, changed_on=DAY, as_of=DAY),  # noqa: B023
            program=program,
        )
        one_by_one = undone(
            lambda: replay_assemblies(program=program, assembly_ids=None, as_of=DAY),  # noqa: B023
            program=program,
        )
        assert in_sets == one_by_one


def test_what_is_open_and_levelled_is_changed_in_sets_too(
    shares: list[filling.Share], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Courtesy letters count from the levelled day, of those that stand alike too."""
    read: list[int] = []
    monkeypatch.setattr(recalculating, "reread", lambda what, *, ids, progress: _kept(read, ids))
    program = shares[0].program
    levelled = Obligation.objects.filter(
        program=program, opened_on__isnull=False, closed_on__isnull=True
    ).exclude(likeness="")
    assert levelled.update(target_on=F("opens_on") + timedelta(days=20)) > 5
    replay_assemblies(program=program, assembly_ids=None, as_of=YESTERDAY)
    adopt(program, swaps={"opens_days = 60": "opens_days = 61"})
    in_sets = undone(
        lambda: recalculate(program=program, changed_on=DAY, as_of=DAY), program=program
    )
    one_by_one = undone(
        lambda: replay_assemblies(program=program, assembly_ids=None, as_of=DAY), program=program
    )
    assert not set(read) & set(levelled.values_list("assembly_id", flat=True))
    read_too = {row[0] for row in one_by_one[1] if row[0] in read}
    assert _without(in_sets, read_too) == _without(one_by_one, read_too)


def _kept(read: list[int], ids: Any) -> tuple[int, list[int]]:
    read.extend(ids)
    return 0, []


def _without(found: tuple[list[Any], list[Any]], ids: set[int]) -> tuple[list[Any], list[Any]]:
    """What is stored, without the assemblies whose histories would be read."""
    owned = dict(Obligation.objects.values_list("pk", "assembly_id"))
    rows, states = found
    return [r for r in rows if owned.get(r[0]) not in ids], [s for s in states if s[0] not in ids]


def test_a_second_time_writes_nothing(shares: list[filling.Share]) -> None:
    program = shares[0].program
    adopt(program, swaps=SHORTER)
    first = recalculate(program=program, changed_on=DAY, as_of=DAY)
    found = stored(program)
    second = recalculate(program=program, changed_on=DAY, as_of=DAY)
    assert first.assemblies == second.assemblies == shares[0].count
    assert first.updated > shares[0].count // 2
    assert second.updated == 0
    assert stored(program) == found


def test_progress_is_told_to_the_end(shares: list[filling.Share]) -> None:
    program = shares[1].program
    adopt(program, swaps=SHORTER)
    told: list[tuple[int, int]] = []
    recalculate(
        program=program,
        changed_on=DAY,
        as_of=DAY,
        progress=lambda done, of: told.append((done, of)),
    )
    assert told[-1] == (shares[1].count, shares[1].count)
