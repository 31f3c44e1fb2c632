"""The day's statements find what is owed by an index, on either database, and no row is scanned."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection

from notices.actions.clocks import Day
from notices.actions.noting import note_owed
from notices.models import Notice
from notices.queries.owed import obligations_to_look_at, owed_notices, positions
from scheduling.actions.opening import open_obligations
from scheduling.models import DayRun, Obligation
from scheduling.queries.opening import come_to_open
from tests.bench.million.filling import LATER
from tests.bench.million.lives import DAY
from tests.bench.million.plans import scans_of, statement_of
from tests.bench.million.small import fill_small

SIZE = 4000


@pytest.fixture
def day(db: None, monkeypatch: pytest.MonkeyPatch) -> Day:
    """The largest program of a small registry, counted by the database, on its usual day."""
    share = fill_small(monkeypatch, size=SIZE, lives=600)[0]
    run = DayRun.objects.create(program=share.program, as_of=DAY, started_at=LATER)
    return Day(program=share.program, on=DAY, at=LATER, run=run)


def scans(rows: Any) -> list[str]:
    """How the obligations are read for a queryset: one line for each scan of their table."""
    table = Obligation._meta.db_table
    read = scans_of(*statement_of(rows.values("pk")))
    return [line for line in read if table in line or " U0 " in line]  # U0: in a subquery


def test_what_opens_is_found_by_its_index(day: Day) -> None:
    found = scans(come_to_open(program=day.program, as_of=DAY))
    assert any("obligation_to_open" in line for line in found), found
    assert not any("Seq Scan" in line or line.startswith("SCAN") for line in found), found


def test_what_is_looked_at_is_found_by_its_index(day: Day) -> None:
    found = scans(obligations_to_look_at(day.program, today=DAY))
    assert "obligation_to_act_on" in " ".join(found), found
    assert not any("Seq Scan" in line or line.startswith("SCAN") for line in found), found


def test_what_was_told_already_can_be_found_by_an_index(day: Day) -> None:
    """Few notices fit one page, which a planner may well read whole: asked not to, it needs one."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    ids = list(Obligation.objects.values_list("pk", flat=True)[:5])
    for rows in (
        Notice.objects.filter(obligation__in=ids),
        Obligation.objects.filter(successor__in=ids),
    ):
        found = scans_of(*statement_of(rows.values("pk")))
        assert found
        assert not any("Seq Scan" in line or line.startswith("SCAN") for line in found), found


def test_what_waits_to_leave_is_found_by_its_index(day: Day) -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_bitmapscan = off")
    waiting = Notice.objects.filter(
        program=day.program, left_on__isnull=True, withdrawn_on__isnull=True
    )
    found = scans_of(*statement_of(waiting.order_by("obligation_id").values("obligation_id")))
    assert "notice_waiting" in " ".join(found), found


def test_what_is_recorded_in_sets_is_what_is_owed_one_by_one(day: Day) -> None:
    opened = open_obligations(program=day.program, as_of=DAY)
    ids = list(obligations_to_look_at(day.program, today=DAY).values_list("pk", flat=True))
    owed = owed_notices(positions(ids, today=DAY), today=DAY)
    expected = {
        (one.key, one.assembly_id, one.premises_id, one.owed_on, one.citation) for one in owed
    }
    recorded = note_owed(day)
    rows = Notice.objects.filter(program=day.program, recorded_on=DAY)
    found = {
        ((n.obligation_id, n.rung, n.occurrence), n.assembly_id, n.premises_id, n.owed_on,
         n.citation)
        for n in rows
    }  # fmt: skip
    assert opened > 0
    assert recorded == len(found) > 0
    assert found == expected
    assert [n.reasons for n in rows.order_by("obligation_id")] == [
        list(one.reasons) for one in sorted(owed, key=lambda one: one.obligation_id)
    ]


def test_recording_again_records_nothing(day: Day) -> None:
    open_obligations(program=day.program, as_of=DAY)
    assert note_owed(day) > 0
    assert note_owed(day) == 0
    left_over = positions(
        list(obligations_to_look_at(day.program, today=DAY).values_list("pk", flat=True)),
        today=DAY,
    )
    assert all(place.is_owed(today=DAY) for place in left_over if place.row.next_action_on)


def test_a_program_with_most_letters_a_day_records_with_its_letters(day: Day) -> None:
    day.program.letters_a_day = 1
    open_obligations(program=day.program, as_of=DAY)
    assert note_owed(day) == 0
    assert not Notice.objects.filter(program=day.program, recorded_on=DAY).exists()
