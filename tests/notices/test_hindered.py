"""The valve of a visit without a test stands in the letter and on the owner's page."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from notices.models import Letter
from notices.queries.hindered import visits_without_a_test
from registry.models import Assembly
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.models import Fact, Obligation
from tests.notices.offices import assembly, office, owner, premises
from tests.notices.test_run_day import run

pytestmark = pytest.mark.django_db

PASSED, VISITED, TODAY = date(2024, 12, 1), date(2025, 12, 2), date(2026, 1, 6)
AT = datetime(2025, 12, 2, 12, tzinfo=UTC)


def visited(one: Assembly) -> None:
    fact = NewFact(
        assembly_id=one.pk, kind=FactKind.UNTESTABLE, on=VISITED, source="field test",
        hindrance=Hindrance.SHUTOFF2_LEAKING, detail={"valve": "shutoff valve 2"},
    )  # fmt: skip
    record_facts(program=one.program, facts=[fact], recorded_at=AT, by="a test")
    replay_assemblies(program=one.program, assembly_ids=[one.pk], as_of=VISITED)


def test_the_letter_that_follows_names_the_valve() -> None:
    program = office()
    one = assembly(premises(program, of=owner(program)), facts=[("passed", PASSED)])
    visited(one)
    run(program, TODAY)
    (letter,) = Letter.objects.all()
    told = str(letter.content)
    assert f"{one.serial}: shutoff valve 2 lets water through." in told.replace("\u00a0", " ")


def test_a_visit_withdrawn_or_before_the_obligation_hinders_nothing() -> None:
    program = office()
    one = assembly(premises(program, of=owner(program)), facts=[("passed", PASSED)])
    visited(one)
    rows = list(Obligation.objects.filter(assembly=one))
    assert visits_without_a_test(rows).hindered == {one.pk: (VISITED, "shutoff valve 2")}
    ids = list(Fact.objects.filter(kind="untestable").values_list("pk", flat=True))
    withdraw_facts(program=program, fact_ids=ids, at=AT, reason="keyed twice", by="a test")
    assert visits_without_a_test(rows).hindered == {}
