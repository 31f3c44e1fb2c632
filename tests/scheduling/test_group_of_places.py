"""Who is in a group decision: assemblies, and the premises and services that owe something."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from registry.models import Program
from scheduling.actions.by_hand.surveys import (
    follow_premises,
)
from scheduling.domain.decisions import DecisionError, Subject
from scheduling.models import Decision, Fact
from scheduling.queries.group_places import places_in
from scheduling.queries.groups import BOTH, PLACES, TESTS, Wanted, group_of
from tests.scheduling.larch_court import (
    COURT,
    TODAY,
    court,
    decided,
)
from tests.scheduling.waterworks import START, served, waterworks

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def program() -> Program:
    return waterworks()


def test_a_street_catches_its_assemblies_and_what_its_premises_and_services_owe(
    program: Program,
) -> None:
    services = court(program, 2)
    bare = served(program, 9)  # no assembly stands there: it owes a survey and protection as well
    follow_premises(program=program, premises_ids=[bare.premises_id], today=START)
    kept = decided(program, "held", until=date(2026, 6, 30))
    assert kept.members.exclude(assembly=None).count() == 2
    assert set(kept.members.exclude(premises=None).values_list("premises_id", "what")) == {
        (one.premises_id, "survey") for one in (*services, bare)
    }
    assert set(kept.members.exclude(connection=None).values_list("connection_id", "what")) == {
        (one.pk, "protection") for one in (*services, bare)
    }
    held = Fact.objects.filter(kind="held", assembly=None)
    assert {(f.reason, f.by, f.on, f.source_ref) for f in held} == {
        ("the street is open", "clerk", TODAY, f"decision {kept.pk}")
    }
    assert {(f.detail["approved_by"], f.detail["group"], f.detail["until"]) for f in held} == {
        ("J. Marsh, board", "Larch Court", "2026-06-30")
    }
    assert held.count() == 6


@pytest.mark.parametrize(
    ("wanted", "names"),
    [
        (Wanted(street="larch", of=TESTS), []),
        (Wanted(serials=("W0",), of=BOTH), []),
        (Wanted(of=BOTH), []),
        (Wanted(street="elm", of=BOTH), []),
        (Wanted(city="tamarack flats", use="OFFICE", of=PLACES), ["survey", "protection"]),
        (Wanted(service="domestic", of=BOTH), ["protection"]),  # a survey is of no service
        (Wanted(service="fire", of=BOTH), []),
        (Wanted(everybody=True, of=PLACES), ["survey", "protection"]),
    ],
)
def test_who_is_meant_is_asked_of_premises_as_of_assemblies(
    program: Program, wanted: Wanted, names: list[str]
) -> None:
    court(program, 1)
    elsewhere = waterworks("other")
    follow_premises(program=elsewhere, premises_ids=[served(elsewhere).premises_id], today=START)
    kinds = [kind for one in places_in(program, wanted) for kind in one.kinds]
    assert sorted(kinds) == sorted(names)
    if wanted.of == PLACES:
        assert not group_of(program, wanted).exists()


def test_who_is_in_it_is_read_by_one_query_whatever_their_number(
    program: Program, django_assert_num_queries: Any
) -> None:
    court(program, 4)
    with django_assert_num_queries(1):
        assert len(places_in(program, COURT)) == 8


def test_one_of_another_program_or_unknown_is_refused_and_nothing_is_kept(
    program: Program,
) -> None:
    court(program, 1)
    other = served(waterworks("other"))
    for subject in (Subject("connection", other.pk), Subject("premises", other.premises_id)):
        with pytest.raises(ValueError, match="not of program works"):
            decided(program, "held", until=date(2026, 6, 30), members=(subject.word,))
    assert not Decision.objects.exists()
    with pytest.raises(ValueError, match="names no assembly"):
        Subject.read("hydrant 4")


def test_out_of_use_is_said_of_no_survey_and_no_service(program: Program) -> None:
    court(program, 1)
    with pytest.raises(DecisionError, match="idled is said of assemblies"):
        decided(program, "idled", until=date(2026, 6, 30))
    assert not Fact.objects.filter(kind="idled").exists()
