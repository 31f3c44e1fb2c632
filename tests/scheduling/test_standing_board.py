"""The standing board is what a count would say, whatever happened to the rows."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from notices.actions.day import run_day
from registry.models import Assembly, Program, Question
from reports.queries.where_they_stand import stands_of, where_they_stand
from scheduling.actions.replaying import replay_assemblies
from scheduling.actions.standing_board import kept_figures, recount_board
from scheduling.models import AssemblyState, Obligation, StandingBoard
from scheduling.queries.board_figures import figures_of
from scheduling.queries.standings import standing_rows
from tests.notices.offices import START, assembly, district, happened, office, owner, premises

pytestmark = pytest.mark.django_db

AT = datetime(2026, 1, 5, 20, tzinfo=UTC)


def board(program: Program) -> StandingBoard:
    return StandingBoard.objects.get(program=program)


def assert_true(program: Program) -> None:
    kept = board(program)
    assert kept_figures(kept) == figures_of(program, on=kept.on)


def test_the_first_load_makes_a_board() -> None:
    program = district(30)
    assert_true(program)
    stands: dict[str, int] = {}
    for row in standing_rows(program=program, as_of=START):
        stands[row.standing] = stands.get(row.standing, 0) + 1
    kept: dict[str, int] = {}
    for name, number in board(program).counts.items():
        word = name.partition("|")[0]
        kept[word] = kept.get(word, 0) + number
    assert kept == stands


@pytest.mark.parametrize("seed", range(4))
def test_any_run_of_facts_keeps_the_board_true(seed: int) -> None:
    draw = random.Random(seed)
    program = office()
    ones = []
    for number in range(8):
        place = premises(program, number, of=owner(program, f"Owner {number}"))
        ones.append(
            assembly(
                place,
                f"S{number}",
                hazard=draw.choice(["high", "low", "not assessed"]),
                service=draw.choice(["domestic", "fire", "irrigation"]),
                facts=[("passed", START - timedelta(days=draw.randint(10, 700)))],
            )
        )
    assert_true(program)
    day = START
    for _ in range(25):
        day += timedelta(days=draw.choice([0, 0, 0, 3, 20]))
        kind = draw.choice(["passed", "failed", "repaired", "idled", "resumed", "removed"])
        happened(draw.choice(ones), [(kind, day)], as_of=day)
        assert_true(program)
        assert board(program).on == day


def test_a_replay_in_chunks_keeps_the_board_true(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduling.actions.replaying.CHUNK", 7)
    program = district(30)
    assert_true(program)
    replay_assemblies(program=program, assembly_ids=None, as_of=START + timedelta(days=200))
    assert_true(program)


def test_a_changed_type_moves_to_its_own_row() -> None:
    program = district(3)
    one = Assembly.objects.filter(program=program).order_by("pk")[0]
    Assembly.objects.filter(pk=one.pk).update(type="RP", hazard="low")
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=START)
    assert_true(program)
    assert any("|RP|low|" in name for name in board(program).counts)


def test_the_run_of_a_day_counts_for_that_day_and_finds_nothing_wrong() -> None:
    program = district(20)
    day = START + timedelta(days=100)
    run_day(program=program, as_of=day, now=AT)
    kept = board(program)
    assert (kept.on, kept.recounted_on, kept.mends) == (day, day, 0)
    assert_true(program)
    assert not Question.objects.filter(kind="standing board").exists()


def test_what_was_changed_past_the_program_is_mended_and_told(
    caplog: pytest.LogCaptureFixture,
) -> None:
    program = district(20)
    AssemblyState.objects.filter(program=program).order_by("pk")[:1].get()
    one = AssemblyState.objects.filter(program=program, removed_on__isnull=True)[0]
    AssemblyState.objects.filter(pk=one.pk).update(removed_on=date(2026, 1, 1))
    run_day(program=program, as_of=START, now=AT)
    assert_true(program)
    assert board(program).mends == 1
    asked = Question.objects.get(program=program, kind="standing board")
    assert "differed from a recount and are mended" in asked.text
    assert "was wrong and is mended" in caplog.text
    run_day(program=program, as_of=START, now=AT)
    assert board(program).mends == 1


def test_a_second_recount_of_a_day_changes_nothing() -> None:
    program = district(10)
    assert recount_board(program=program, on=START, at=AT) is False
    before = kept_figures(board(program))
    assert recount_board(program=program, on=START, at=AT) is False
    assert kept_figures(board(program)) == before


def test_reading_the_board_is_one_indexed_read_whatever_the_size() -> None:
    program = district(40)
    with CaptureQueriesContext(connection) as asked:
        stands = stands_of(program, day=START)
    assert len(asked) == 1
    assert "assembly" not in asked[0]["sql"]
    counted = where_they_stand(Assembly.objects.filter(program=program), day=START)
    assert stands == counted
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"EXPLAIN QUERY PLAN {asked[0]['sql']}")
            assert "SEARCH scheduling_standingboard USING INDEX" in str(cursor.fetchall())
        else:
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute(f"EXPLAIN {asked[0]['sql']}")
            assert "scheduling_standingboard_pkey" in str(cursor.fetchall())


def test_on_another_day_than_the_board_s_the_rows_are_counted() -> None:
    program = district(10)
    later = START + timedelta(days=300)
    counted = where_they_stand(Assembly.objects.filter(program=program), day=later)
    assert stands_of(program, day=later) == counted


def test_months_tell_tests_in_time_late_missed_and_open() -> None:
    program = office()
    due = {  # passed a year before; next pass
        "IN TIME": date(2026, 2, 10),
        "LATE": date(2026, 3, 1),
        "OPEN": None,
    }
    for number, (serial, passed) in enumerate(due.items()):
        place = premises(program, number, of=owner(program, serial))
        facts = [("passed", date(2025, 2, 15))]
        facts += [("passed", passed)] if passed else []
        assembly(place, serial, facts=facts, as_of=date(2026, 3, 2))
    kept = board(program).months
    assert {name: kept[name] for name in kept if name.startswith("2026-02")} == {
        "2026-02|in time": 1,
        "2026-02|late": 1,
        "2026-02|open": 1,
    }
    assert Obligation.objects.filter(closed_how="met").count() >= 2
