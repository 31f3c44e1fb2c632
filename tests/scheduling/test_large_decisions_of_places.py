"""Decisions about very many premises: in chunks, and in as many queries for few as for many."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from notices.actions.day import run_day
from notices.models import Notice
from registry.models import Program, ServiceConnection
from scheduling.actions.by_hand import carrying, decisions, member_facts
from scheduling.actions.by_hand.carrying import carry_on
from scheduling.actions.opening import open_obligations
from scheduling.domain.decisions import Subject
from scheduling.models import Obligation
from tests.notices.test_place_letters import lacking
from tests.scheduling.larch_court import (
    DUE,
    TODAY,
    agrees,
    both,
    court,
    decided,
    due,
    ended,
)
from tests.scheduling.waterworks import START, moment, waterworks

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def program() -> Program:
    return waterworks()


@pytest.fixture
def in_small_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    """More than two are many; three at a time are worked out, four written at once."""
    monkeypatch.setattr(decisions, "MOST_AT_ONCE", 2)
    monkeypatch.setattr(member_facts, "IN_A_WRITE", 4)
    monkeypatch.setattr(carrying, "CHUNK", 3)


def test_killed_half_way_it_is_carried_on_to_the_same_end(
    program: Program, in_small_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    court(program, 6)
    row = decided(program, "held", until=date(2026, 6, 30))
    assert (row.members.count(), due(program)) == (18, both(DUE))
    done = iter([carrying.keep_due_dates] * 2)

    def killed(members: Any) -> None:
        next(done)(members)

    with monkeypatch.context() as patch:
        patch.setattr(carrying, "keep_due_dates", killed)
        with pytest.raises(StopIteration):
            carry_on(row, today=TODAY)
    assert due(program) == both(DUE) | both(date(2026, 6, 30))
    carry_on(row, today=TODAY)
    assert due(program) == both(date(2026, 6, 30))
    mine = row.members.filter(assembly=None)
    assert set(mine.values_list("due_before", "due_after")) == {(DUE, date(2026, 6, 30))}
    agrees(program, on=TODAY)


def test_what_nobody_carried_on_the_next_run_does_before_anything_leaves(
    program: Program, in_small_parts: None
) -> None:
    """Protection was due on 1 April: on the 20th a notice goes to the one left out of it alone."""
    inside = [lacking(program, number) for number in range(1, 4)]
    outside = lacking(program, 4)
    open_obligations(program=program, as_of=START)
    members = tuple(Subject("connection", service.pk).word for service in inside)
    row = decided(program, "held", until=date(2026, 6, 30), members=members)
    assert row.replay_on == TODAY
    on = date(2026, 4, 20)
    run_day(program=program, as_of=on, now=moment(on))
    owed = Obligation.objects.filter(kind="protection").order_by("connection")
    assert list(owed.values_list("due_on", flat=True)) == [date(2026, 6, 30)] * 3 + [DUE]
    told = Notice.objects.filter(obligation__kind="protection")
    assert set(told.values_list("obligation__connection", flat=True)) == {outside.pk}


def test_each_premises_is_worked_out_once_where_a_chunk_does_not_part_it(
    program: Program, in_small_parts: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Members are kept by premises: an assembly, a service and the premises, three to a chunk."""
    court(program, 4)
    row = decided(program, "held", until=date(2026, 6, 30))
    alone: list[int] = []
    monkeypatch.setattr(
        carrying, "replay_premises",
        lambda *, premises_ids, **_: alone.extend(premises_ids),
    )  # fmt: skip
    carry_on(row, today=TODAY)
    assert alone == []  # each went along with its assembly
    assert due(program) == both(date(2026, 6, 30))


def test_begun_and_ended_in_as_many_queries_for_few_as_for_many(program: Program) -> None:
    def queries(services: list[ServiceConnection]) -> tuple[int, int]:
        members = tuple(
            word for s in services
            for word in (f"service {s.pk}", f"premises {s.premises_id}")
        )  # fmt: skip
        with CaptureQueriesContext(connection) as begun:
            row = decided(program, "held", until=date(2026, 6, 30), members=members)
        with CaptureQueriesContext(connection) as over:
            ended(row, on=date(2026, 4, 15), today=TODAY)
        return len(begun), len(over)

    made = court(program, 12)
    assert queries(made[:2]) == queries(made[2:])
