"""A change of type, service or protection holds from a day on, or was always so."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime
from typing import Any

import pytest

from registry.changes import Hand
from registry.domain.kinds import AssemblyType, Hazard, Protects
from registry.models import Assembly, HazardAssessment, Premises
from scheduling.actions.by_hand.assemblies import change_service_from, keep_assembly
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.uses import keep_premises_from
from scheduling.domain.facts import FactKind
from scheduling.models import AssemblyState
from scheduling.queries.comparing import ask, compared
from scheduling.queries.moving import Which, moves_after
from scheduling.queries.rulebooks import books_of
from scheduling.queries.shipped import shipped_rulebook
from scheduling.queries.standings import explain_assembly
from scheduling.queries.subjects import subjects
from tests.scheduling.office import made_assembly, made_program, recorded, replayed

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
NOON = datetime(2025, 11, 25, 20, tzinfo=UTC)


def changed(one: Assembly, *, since: date | None, at: datetime = NOON, **values: Any) -> Assembly:
    kept = {
        name: getattr(one, name)
        for name in ("serial", "maker", "model", "type", "protects", "hazard", "connection")
    }
    return keep_assembly(
        program=one.program,
        premises=one.premises,
        assembly=one,
        values={**kept, **values},
        since=since,
        today=TODAY,
        hand=Hand(by="A. Clerk", at=at, reason="seen on site"),
    )


def due(one: Assembly) -> date | None:
    return AssemblyState.objects.get(assembly=one).due_on


@pytest.fixture
def one() -> Assembly:
    """A DC on high hazard: plain-rolling asks for a test every twelve months."""
    made = made_assembly(made_program(), type_=AssemblyType.DC, hazard=Hazard.HIGH)
    recorded(made, (FactKind.PASSED, date(2024, 3, 4)), (FactKind.PASSED, date(2025, 1, 10)))
    replayed([made], as_of=TODAY)
    return made


def test_what_it_was_stays_before_the_day_of_the_change(one: Assembly) -> None:
    assert due(one) == date(2026, 1, 10)
    before = explain_assembly(assembly=one, as_of=date(2025, 8, 1)).to_json()
    assert before["standing"] == "good"
    changed(one, since=date(2025, 11, 20), type="RP")
    # as an RP it is due every six months: 10 July 2025 lies past, so 20 November + 30 days
    assert due(one) == date(2025, 12, 20)
    after = explain_assembly(assembly=one, as_of=date(2025, 8, 1)).to_json()
    assert (after["standing"], after["due_on"]) == ("good", before["due_on"])


def test_what_was_always_so_rewrites_the_past(one: Assembly) -> None:
    changed(one, since=None, type="RP")
    # six months after 10 January 2025, and overdue since
    assert due(one) == date(2025, 7, 10)
    told = explain_assembly(assembly=one, as_of=date(2025, 8, 1)).to_json()
    assert told["standing"] == "overdue"
    assert Assembly.objects.get(pk=one.pk).was is None


def test_what_was_known_then_stays_known_then(one: Assembly) -> None:
    changed(one, since=date(2025, 11, 1), type="RP")
    then = explain_assembly(
        assembly=one, as_of=date(2025, 11, 20), known_at=datetime(2025, 11, 20, tzinfo=UTC)
    ).to_json()
    now = explain_assembly(assembly=one, as_of=date(2025, 11, 20)).to_json()
    assert then["due_on"] == "2026-01-10"
    assert now["due_on"] == "2025-12-01"  # 1 November + 30 days


def test_a_service_changes_from_a_day_on_for_all_that_stands_on_it(one: Assembly) -> None:
    hand = Hand(by="A. Clerk", at=NOON)
    change_service_from(
        premises=one.premises,
        connection=one.connection,
        values={"kind": "irrigation", "name": "", "has_chemicals": False, "runs_part_year": True},
        since=date(2025, 6, 1),
        today=TODAY,
        hand=hand,
    )
    (subject,) = subjects(
        program=one.program, assembly_ids=[one.pk], rulebooks=books_of(one.program).dated
    )
    told = [(entry.on, entry.attributes.service, entry.attributes.has_chemicals)
            for entry in subject.timeline.attributes]  # fmt: skip
    assert told == [(date.min, "", None), (date(2025, 6, 1), "irrigation", False)]


def test_findings_of_hazard_and_changes_hold_each_from_its_day(one: Assembly) -> None:
    for on, hazard in ((date(2024, 1, 2), "high"), (date(2025, 5, 1), "low")):
        HazardAssessment.objects.create(
            premises=one.premises, assembly=one, assessed_on=on, hazard=hazard, recorded_at=NOON
        )
    changed(one, since=date(2025, 3, 1), type="RP")
    again = Assembly.objects.get(pk=one.pk)
    changed(again, since=date(2025, 9, 1), protects=Protects.ISOLATION.value)
    (subject,) = subjects(
        program=one.program, assembly_ids=[one.pk], rulebooks=books_of(one.program).dated
    )
    told = [
        (entry.on, str(entry.attributes.type), str(entry.attributes.hazard),
         str(entry.attributes.protects))
        for entry in subject.timeline.attributes
    ]  # fmt: skip
    assert told == [
        (date.min, "DC", "high", "containment"),
        (date(2025, 3, 1), "RP", "high", "containment"),
        (date(2025, 5, 1), "RP", "low", "containment"),
        (date(2025, 9, 1), "RP", "low", "isolation"),
    ]


def test_a_premises_was_used_otherwise_before_the_day_its_use_changed(one: Assembly) -> None:
    """A change of type in between keeps the use of its time; one written before uses were kept,
    without a use, takes the next use that is known."""
    site = one.premises
    Premises.objects.filter(pk=site.pk).update(use="dwelling")
    kept = Assembly.objects.select_related("premises").get(pk=one.pk)
    changed(kept, since=date(2025, 3, 1), type="RP")
    old = Assembly.objects.get(pk=one.pk)
    assert old.was
    old.was[0].pop("use")
    old.save()
    premises = Premises.objects.get(pk=site.pk)
    values = {"account": "", "address": premises.address, "city": "", "use": "clinic"}
    keep_premises_from(
        program=one.program,
        premises=premises,
        values=values,
        use_since=date(2025, 6, 1),
        today=TODAY,
        hand=Hand(by="A. Clerk", at=NOON),
    )
    (subject,) = subjects(
        program=one.program, assembly_ids=[one.pk], rulebooks=books_of(one.program).dated
    )
    told = [(entry.on, str(entry.attributes.type), entry.attributes.use,
             entry.attributes.is_residential)
            for entry in subject.timeline.attributes]  # fmt: skip
    assert told == [
        (date.min, "DC", "dwelling", True),
        (date(2025, 3, 1), "RP", "dwelling", True),
        (date(2025, 6, 1), "RP", "clinic", False),
    ]


def test_a_day_that_cannot_be_is_refused_and_nothing_is_kept(one: Assembly) -> None:
    with pytest.raises(RefusedChangeError, match="has not come yet"):
        changed(one, since=date(2025, 12, 1), type="RP")
    kept = Assembly.objects.get(pk=one.pk)
    changed(kept, since=date(2025, 10, 1), type="RP")
    with pytest.raises(RefusedChangeError, match="changed on 2025-10-01 already"):
        changed(Assembly.objects.get(pk=one.pk), since=date(2025, 9, 1), type="PVB")
    assert Assembly.objects.get(pk=one.pk).type == "RP"


def test_one_that_changed_is_compared_by_its_history(one: Assembly) -> None:
    changed(one, since=date(2025, 11, 20), type="RP")
    question, _ = ask(
        program=one.program, draft=shipped_rulebook("plain-season"), effective_on=TODAY
    )
    whole = compared(program=one.program, draft=question.draft, effective_on=TODAY)
    found = [m for looked in moves_after(question=question, after=0, which=Which.ALL)
             for m in looked.moves]  # fmt: skip
    assert Counter(move.days for move in found) == whole.moved_by
    assert sum(whole.moved_by.values()) == 1
    (subject,) = subjects(program=one.program, assembly_ids=[one.pk], rulebooks=question.books.now)
    assert [str(entry.attributes.type) for entry in subject.timeline.attributes] == ["DC", "RP"]
