"""A measured air gap meets the inspection its rulebook asks for."""

from __future__ import annotations

import hashlib
from datetime import date
from decimal import Decimal

import pytest

from registry.changes import Hand
from registry.models import Assembly, Program
from reports.actions.air_gaps import AirGapError, record_air_gap
from reports.domain.air_gaps import AirGap
from scheduling.actions.replaying import replay_assemblies
from scheduling.models import Adoption, Fact, Obligation, Rulebook
from scheduling.queries.shipped import shipped_text
from tests.reports.conftest import AS_OF, MORNING

HAND = Hand(by="clerk", at=MORNING)
INSPECTED = """
[[kind]]
name = "inspection"
met_by = ["inspection"]

[[cycle]]
id = "gaps yearly"
kind = "inspection"
types = ["AG"]
regime = "rolling"
every = "FREQ=YEARLY"
opens_days = 60
citation = "Invented for this test, after Louisiana, IPC 312.10: air gaps inspected annually"
"""


@pytest.fixture
def gap(program: Program) -> Assembly:
    text = shipped_text("plain-rolling").replace("\n[[rung]]", f"{INSPECTED}\n[[rung]]", 1)
    book = Rulebook.objects.create(
        name="gaps", program=program, title="Gaps inspected", text=text, loaded_at=MORNING,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )  # fmt: skip
    Adoption.objects.filter(program=program).update(rulebook=book)
    Assembly.objects.filter(serial="A700001").update(type="AG")
    found = Assembly.objects.get(serial="A700001")
    replay_assemblies(program=program, assembly_ids=[found.pk], as_of=AS_OF)
    return found


def measured(gap_in: str) -> AirGap:
    return AirGap(gap_in=Decimal(gap_in), supply_in=Decimal("0.75"), is_by_wall=False)


# WAC 246-290-010: a supply of 3/4 in asks for 1.5 in.
@pytest.mark.parametrize(("wide", "kind"), [("1.5", "passed"), ("1.49", "failed")])
def test_a_measured_gap_is_an_inspection_passed_or_failed(
    gap: Assembly, wide: str, kind: str
) -> None:
    owed = Obligation.objects.get(assembly=gap, kind="inspection", closed_on__isnull=True)
    judged = record_air_gap(assembly=gap, measured=measured(wide), on=AS_OF, today=AS_OF, hand=HAND)
    fact = Fact.objects.get(assembly=gap, kind=kind)
    assert (fact.detail["work"], fact.detail["gap_in"]) == ("inspection", wide)
    assert judged.limit_in == Decimal("1.50")
    owed.refresh_from_db()
    assert (owed.closed_how == "met") == (kind == "passed")


def test_only_an_air_gap_is_measured_and_on_no_day_to_come(gap: Assembly, program: Program) -> None:
    other = Assembly.objects.get(serial="K925771")
    for assembly, on in ((other, AS_OF), (gap, date(2027, 1, 1))):
        with pytest.raises(AirGapError):
            record_air_gap(assembly=assembly, measured=measured("2"), on=on, today=AS_OF, hand=HAND)
    assert not Fact.objects.filter(detail__has_key="gap_in").exists()
