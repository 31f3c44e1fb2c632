"""Each kind of obligation climbs a ladder of its own, found in sets as one by one."""

from __future__ import annotations

import hashlib
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings

from notices.actions.clocks import Day
from notices.actions.noting import note_owed
from notices.models import Notice
from notices.queries.alike import row_of
from notices.queries.owed import obligations_to_look_at, owed_notices, positions
from registry.models import Program
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_assemblies
from scheduling.actions.storing import RowSource, values_of
from scheduling.domain.facts import Fact
from scheduling.domain.ladders import LeftRung, next_rung
from scheduling.domain.rulebook import Attributes, Rulebook
from scheduling.models import Adoption, DayRun
from scheduling.models import Rulebook as RulebookRow
from scheduling.queries.obligations import as_domain
from scheduling.queries.shipped import shipped_text
from tests.domain.scheduling.places.generated import FACTS, SUBJECTS, rulebooks
from tests.domain.scheduling.places.test_generated_rulebooks import ledger_of, numbered
from tests.notices.offices import AT, START, assembly, office, owner, premises

LADDERS = """
[[kind]]
name = "inspection"
met_by = ["inspection"]

[[cycle]]
id = "inspected yearly"
kind = "inspection"
regime = "rolling"
every = "FREQ=YEARLY"
opens_days = 60
citation = "Invented for this test"

[[rung]]
key = "first-overdue"
trigger = "due"
offset_days = 1
citation = "Invented for this test"

[[rung]]
key = "second-overdue"
trigger = "due"
offset_days = 1
hazards = ["high"]
kinds = ["inspection"]
citation = "Invented for this test"

[[rung]]
key = "final"
trigger = "due"
offset_days = 1
hazards = ["low"]
kinds = ["inspection"]
citation = "Invented for this test"
"""
OVERDUE = (("passed", date(2024, 12, 1)),)


def with_two_kinds(program: Program) -> None:
    """Put the plain rules in force with a yearly inspection and a ladder for each kind."""
    text = shipped_text("plain-rolling").partition("\n[[rung]]")[0] + LADDERS
    row = RulebookRow.objects.create(
        name="two-kinds", program=program, title="Two kinds", text=text, loaded_at=AT,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )  # fmt: skip
    Adoption.objects.filter(program=program).update(rulebook=row)


@pytest.mark.django_db
def test_each_kind_of_obligation_has_the_rungs_of_its_own_ladder_and_subject() -> None:
    program = office()
    with_two_kinds(program)
    place = premises(program, of=owner(program))
    for hazard in ("high", "low"):
        assembly(place, hazard, hazard=hazard, facts=OVERDUE)
    today = START + timedelta(days=60)  # an inspection never done is due 30 days after START
    replay_assemblies(program=program, assembly_ids=None, as_of=today)
    open_obligations(program=program, as_of=today)
    ids = list(obligations_to_look_at(program, today=today).values_list("pk", flat=True))
    owed = owed_notices(positions(ids, today=today), today=today)
    run = DayRun.objects.create(program=program, as_of=today, started_at=AT)
    note_owed(Day(program=program, on=today, at=AT, run=run))
    noted = Notice.objects.order_by("obligation_id").values_list(
        "assembly__hazard", "obligation__kind", "rung"
    )
    assert set(noted) == {
        ("high", "test", "first-overdue"),
        ("high", "inspection", "second-overdue"),
        ("low", "test", "first-overdue"),
        ("low", "inspection", "final"),
    }
    assert sorted((one.obligation_id, one.rung) for one in owed) == sorted(
        Notice.objects.values_list("obligation_id", "rung")
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(book=rulebooks(), what=SUBJECTS, facts=FACTS)
def test_a_ladder_asks_nothing_of_an_obligation_that_is_not_read_for_many(
    book: Rulebook, what: Attributes, facts: list[Fact]
) -> None:
    """What is read for many at once gives the same step as the obligation itself."""
    draw = Random(len(facts))
    today = date(2026, 6, 1)
    ledger = ledger_of(book, what, numbered(facts), as_of=today)
    source = RowSource(
        program=Program(pk=1), assembly_id=1, next_actions={}, rulebook_ids={book.label: 1},
        as_of=today, at=AT,
    )  # fmt: skip
    for each in ledger.obligations:
        if each.closed_on is not None:
            continue
        ladder = book.ladder_for(kind=each.kind, attributes=what)
        left = [
            LeftRung(rung=rung.key, left_on=each.opens_on + timedelta(days=place))
            for place, rung in enumerate(ladder.rungs)
            if draw.random() < 0.3
        ]
        values = {"kind": each.kind, "opened_on": each.opens_on, "target_on": each.target_on}
        row = row_of({**values, **values_of(each, source=source)})
        asked = [
            next_rung(ladder=ladder, obligation=owed, left=left, today=today)
            for owed in (each, as_domain(row))
        ]
        assert asked[0] == asked[1]
