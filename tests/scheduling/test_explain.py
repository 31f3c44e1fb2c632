"""`explain`: the object of replay_facts for a stored assembly, letters that left counted."""

from __future__ import annotations

import io
import json
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.core.management import call_command

from notices.models import Notice
from registry.models import Assembly, HazardAssessment, Premises, Program
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_premises
from scheduling.domain.facts import FactKind
from scheduling.models import Obligation
from tests.scheduling.office import made_assembly, made_program, recorded, replayed
from tests.scheduling.waterworks import START, installed, served, surveyed, waterworks

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
KEYS = {
    "assembly",
    "standing",
    "opens_on",
    "due_on",
    "next_rung",
    "obligations",
    "reasons",
    "warnings",
}


@pytest.fixture
def program() -> Program:
    return made_program()


@pytest.fixture
def overdue(program: Program) -> Assembly:
    assembly = made_assembly(program)
    recorded(assembly, (FactKind.PASSED, date(2024, 9, 4)))
    replayed([assembly], as_of=TODAY)
    open_obligations(program=program, as_of=TODAY)
    return assembly


def explained(*words: str) -> tuple[int, Any]:
    out = io.StringIO()
    try:
        call_command("explain", *words, "--json", stdout=out, stderr=io.StringIO())
        code = 0
    except SystemExit as ended:
        code = int(ended.code or 0)
    return code, json.loads(out.getvalue())


def test_explain_answers_the_object_of_the_calculator(overdue: Assembly) -> None:
    code, said = explained("a 100", "--program", "tamarack", "--as-of", "2025-11-25")
    assert code == 0
    assert set(said) == KEYS
    assert (said["assembly"], said["standing"], said["due_on"]) == ("A100", "overdue", "2025-09-04")
    assert said["next_rung"] == {"rung": "first-overdue", "on": "2025-11-25"}
    assert "last pass 2024-09-04 + 1 year = 2025-09-04" in said["reasons"][0]["arithmetic"]


def test_letters_that_left_count(overdue: Assembly) -> None:
    row = Obligation.objects.get(assembly=overdue)
    Notice.objects.create(
        program=overdue.program,
        matter_key=f"obligation:{row.pk}",
        obligation=row,
        assembly=overdue,
        premises=overdue.premises,
        rung="first-overdue",
        occurrence="",
        owed_on=date(2025, 11, 20),
        recorded_on=date(2025, 11, 20),
        left_on=date(2025, 11, 20),
    )
    _, said = explained("A100", "--program", "tamarack", "--as-of", "2025-11-25")
    # at least 14 days after the first left, the leaving day not counted
    assert said["next_rung"] == {"rung": "second-overdue", "on": "2025-12-04"}
    _, before = explained("A100", "--program", "tamarack", "--as-of", "2025-11-19")
    assert before["next_rung"] == {"rung": "first-overdue", "on": "2025-11-19"}


def test_a_serial_under_several_makers_asks_which(overdue: Assembly) -> None:
    other = made_assembly(overdue.program, serial="A100-twin")
    Assembly.objects.filter(pk=other.pk).update(
        serial="A100", serial_key="A100", maker="Ironbridge", maker_key="ironbridge"
    )
    code, said = explained("A100", "--program", "tamarack")
    assert code == 2
    assert "Ironbridge, Northfork" in said["error"]
    code, said = explained("A100", "--program", "tamarack", "--maker", "IRONBRIDGE")
    assert (code, said["assembly"]) == (0, "A100")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("nothing", "--program", "tamarack"), "has no assembly nothing"),
        (("A100", "--program", "nowhere"), "No program has the code"),
        (("A100", "--program", "tamarack", "--maker", "Nobody"), "no assembly A100 of Nobody"),
    ],
)
def test_what_cannot_be_explained_is_refused_with_a_sentence(
    overdue: Assembly, words: tuple[str, ...], told: str
) -> None:
    code, said = explained(*words)
    assert code == 2
    assert told in said["error"]


PLACE_KEYS = {
    "premises", "account", "service", "kind",
    "standing", "opens_on", "due_on", "next_rung", "obligations", "reasons", "warnings",
}  # fmt: skip


@pytest.fixture
def works() -> Program:
    """A DC where a high hazard was found; WAC 246-290-490, table 12 asks for more."""
    program = waterworks()
    service = served(program)
    installed(service, "DC", on=START)
    surveyed(service.premises, "high", on=START)
    replay_premises(program=program, premises_ids=None, as_of=START)
    return program


def test_a_premises_and_its_services_are_explained_kind_by_kind(works: Program) -> None:
    said = explained("--premises", "1", "--program", "works", "--as-of", "2026-04-11")
    code, (survey, protection) = said
    assert code == 0
    assert set(survey) == set(protection) == PLACE_KEYS
    assert (survey["kind"], survey["service"], survey["standing"]) == ("survey", None, "good")
    # surveyed on 2 March 2026, every two years (35 IAC 604.1510)
    assert survey["due_on"] == "2028-03-02"
    assert (protection["kind"], protection["service"]) == ("protection", "domestic")
    # 2 March + 30 days = 1 April
    assert (protection["standing"], protection["due_on"]) == ("overdue", "2026-04-01")
    assert protection["next_rung"]["on"] == "2026-04-11"
    (reason, *_) = protection["reasons"]
    assert "DC against a high hazard; asked for: RP, RPDA or AG" in reason["arithmetic"]
    assert reason["citation"] == "WAC 246-290-490(4)(b), table 12"


def test_a_premises_is_explained_as_of_a_day_and_as_known_then(works: Program) -> None:
    late = HazardAssessment.objects.create(
        premises=Premises.objects.get(),
        assessed_on=date(2026, 3, 16),
        hazard="low",
        recorded_at=datetime(2026, 5, 1, 20, tzinfo=UTC),
    )
    asked = ("--premises", "1 larch court", "--program", "works", "--as-of", "2026-04-11")
    _, (_, now) = explained(*asked)
    assert (now["standing"], now["obligations"][0]["closed_how"]) == ("good", "excused")
    _, (_, then) = explained(*asked, "--known-at", "2026-04-11")
    assert (then["standing"], then["obligations"][0]["closed_how"]) == ("overdue", None)
    assert late.assessed_on < date(2026, 4, 11)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--premises", "99"), "no premises of account or address '99'"),
        (("--premises", "1", "W0"), "Name a serial, or --premises"),
        ((), "Name a serial, or --premises"),
    ],
)
def test_what_premises_is_meant_must_be_said(
    works: Program, words: tuple[str, ...], told: str
) -> None:
    code, said = explained(*words, "--program", "works")
    assert code == 2
    assert told in said["error"]
