"""Merging, levelling, comparing, figures and exports beside obligations of no assembly."""

from __future__ import annotations

import json
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from notices.models import Letter, Notice
from registry.models import Party, Program
from reports.merging.assemblies import merge_assemblies
from reports.merging.parties import merge_parties
from reports.merging.undoing import undo_merge
from reports.queries.ladder import ladder_counts
from reports.queries.year import year_of
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_assemblies
from scheduling.models import Obligation
from scheduling.queries.levelling import owed_between
from tests.notices.offices import owner
from tests.notices.test_place_letters import lacking, run
from tests.scheduling.waterworks import (
    START,
    hand,
    installed,
    lines,
    served,
    surveyed,
    waterworks,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def program() -> Program:
    return waterworks()


def test_merging_two_parties_keeps_what_their_premises_owe_and_its_letters(
    program: Program,
) -> None:
    service = lacking(program)
    run(program, START)
    gone = Party.objects.get(roles__premises=service.premises)
    kept = owner(program, "The same owner")
    before = list(Obligation.objects.order_by("pk").values())
    merge_parties(
        program=program, kept_id=kept.pk, gone_id=gone.pk, from_gone=frozenset(), today=START,
        hand=hand(START),
    )  # fmt: skip
    assert list(Obligation.objects.order_by("pk").values()) == before
    assert Letter.objects.get(content__work="protection").recipient == kept
    assert Notice.objects.filter(assembly__isnull=True).count() == 1


def test_merging_two_assemblies_asks_again_of_the_service_that_lost_one(program: Program) -> None:
    # RP counted twice, on two services: without it the second lacks protection, as it did before
    one, other = served(program, 1), served(program, 2)
    for service in (one, other):
        surveyed(service.premises, "high", on=START)
    kept, gone = installed(one, "RP", on=START), installed(other, "RP", on=START)
    replay_assemblies(program=program, assembly_ids=None, as_of=START)
    assert lines(program) == []
    merge = merge_assemblies(
        program=program, kept_id=kept.pk, gone_id=gone.pk, from_gone=frozenset(), today=START,
        hand=hand(START),
    )  # fmt: skip
    assert lines(program) == ["2026-03-02 due 2026-04-01"]
    assert Obligation.objects.get(kind="protection").connection == other
    undo_merge(merge=merge, today=START, hand=hand(START))
    assert lines(program) == []


def test_levelling_and_the_drawn_year_count_tests_only(program: Program) -> None:
    lacking(program)
    open_obligations(program=program, as_of=START)
    tests = Obligation.objects.filter(assembly__isnull=False).count()
    owed = owed_between(program, first=START, last=START + timedelta(days=800))
    assert len(owed.rows) == tests == 1
    year = year_of(program, today=START)
    assert sum(week.met + week.open_past + week.to_come for week in year.weeks) <= tests


def test_the_ladder_counts_what_has_a_letter_whatever_it_is_about(program: Program) -> None:
    lacking(program)
    run(program, START)
    assert ladder_counts(program)["test-owed"].there == 1


def test_exports_and_explanations_do_not_break(program: Program) -> None:
    lacking(program)
    run(program, START)
    out = StringIO()
    call_command("export_registry", "--program", "works", "--format", "csv", stdout=out)
    assert len(out.getvalue().split()) >= 2
    assert out.getvalue().count("W0") == 1
    out = StringIO()
    call_command("explain", "W0", "--program", "works", "--json", stdout=out)
    assert json.loads(out.getvalue())["assembly"] == "W0"
    out = StringIO()
    call_command(
        "compare_rulebooks", "--program", "works", "--draft", "plain-rolling",
        "--as-of", START.isoformat(), "--json", stdout=out,
    )  # fmt: skip
    assert json.loads(out.getvalue())["assemblies"] == 1
