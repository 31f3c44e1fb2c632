"""A testing company that stands alone: its customers, letters and rounds without any purveyor."""

from __future__ import annotations

import io
import json
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from notices.models import Letter
from registry.access import Verb, verbs_in
from registry.domain.kinds import ProgramKind, Role
from registry.models import Firm, Membership, Program
from scheduling.models import Rulebook
from scheduling.queries.levelling import what_it_steers
from tests.contract.conftest import AS_OF, REGISTRY, TESTERS

pytestmark = pytest.mark.django_db

FIRM = "Stillbrook Testing"
MADE = ("--program", "stillbrook", "--own-customers", FIRM, "--zone", "America/Los_Angeles")


def told(*arguments: str, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run a command as a caller does; exit 1 only says that rows were set aside."""
    with suppress(SystemExit):
        call_command(*arguments, "--json")
    return json.loads(capsys.readouterr().out)


def refused(*arguments: str, capsys: pytest.CaptureFixture[str]) -> str:
    with pytest.raises(SystemExit) as ended:
        call_command(*arguments, "--json")
    assert ended.value.code == 2
    return str(json.loads(capsys.readouterr().out)["error"])


@pytest.fixture
def company(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Program:
    """The company's program as its owner sets it up: settings, customers, testers."""
    monkeypatch.setattr("sys.stdin", io.StringIO("seven words for a trial\n"))
    said = told(
        *("program_settings", *MADE, "--trial", "--dispatcher", "vera", "--password-stdin"),
        *("--letterhead-name", FIRM, "--phone", "(555) 010-0177"),
        capsys=capsys,
    )
    assert (said["kind"], said["firm"], said["administrators"]) == ("own customers", FIRM, [])
    registry, testers = tmp_path / "customers.csv", tmp_path / "testers.csv"
    registry.write_text(REGISTRY)
    testers.write_text(TESTERS)
    loaded = told(
        *("load_registry", str(registry), "--program", "stillbrook", "--as-of", AS_OF),
        *("--rulebook", "plain-anniversary"),
        capsys=capsys,
    )
    assert loaded["created"] == 3
    told("load_testers", str(testers), "--program", "stillbrook", "--as-of", AS_OF, capsys=capsys)
    return Program.objects.get(code="stillbrook")


def logged_in(client: Client) -> Client:
    client.force_login(
        User.objects.get(username="vera"), backend="django.contrib.auth.backends.ModelBackend"
    )
    return client


def test_the_company_and_its_program_are_tied_and_no_purveyor_is_there(company: Program) -> None:
    assert company.kind == ProgramKind.OWN_CUSTOMERS
    assert list(Program.objects.all()) == [company]
    assert Firm.objects.get().own_program == company
    vera = Membership.objects.get()
    assert (vera.role, vera.firm, vera.program) == (Role.DISPATCHER, Firm.objects.get(), None)


def test_its_day_is_run_and_its_letters_carry_its_name(
    company: Program, capsys: pytest.CaptureFixture[str]
) -> None:
    tally = told("run_day", "--program", "stillbrook", "--as-of", AS_OF, capsys=capsys)
    assert tally["obligations_opened"] >= 2
    assert tally["letters"] >= 1
    letter = Letter.objects.order_by("pk")[0]
    assert letter.content["letterhead"]["name"] == FIRM
    assert "purveyor" not in json.dumps(letter.content).lower()


def test_its_rounds_are_planned_and_its_tester_has_a_calendar(
    company: Program, capsys: pytest.CaptureFixture[str]
) -> None:
    told("run_day", "--program", "stillbrook", "--as-of", AS_OF, capsys=capsys)
    plan = told(
        *("plan_rounds", "--program", "stillbrook", "--from", "2026-11-26", "--days", "5"),
        *("--iterations", "50", "--seed", "1"),
        capsys=capsys,
    )
    assert plan["feasible"]
    assert plan["planned"] >= 1
    call_command("export_calendar", "--program", "stillbrook", "--tester", "T-1")
    calendar = capsys.readouterr().out
    assert calendar.count("BEGIN:VEVENT") == plan["planned"]


def test_its_dispatcher_works_in_it_as_a_clerk_does(
    company: Program, client: Client, capsys: pytest.CaptureFixture[str]
) -> None:
    told("run_day", "--program", "stillbrook", "--as-of", AS_OF, capsys=capsys)
    vera = logged_in(client)
    for page in (
        "",
        "registry/",
        "letters/",
        "rounds/",
        "figures/",
        "levelling/",
        "load/",
        "runs/",
    ):
        assert vera.get(f"/p/stillbrook/{page}").status_code == 200, page
    waiting = Letter.objects.filter(needs_release=True, is_order=False, state="composed").first()
    if waiting is not None:
        vera.post("/p/stillbrook/letters/release/", {"letter": [waiting.pk]})
        waiting.refresh_from_db()
        assert waiting.state != "composed"


def test_its_dispatcher_sets_up_its_rulebook_and_settings_and_signs_no_order(
    company: Program, client: Client
) -> None:
    vera = logged_in(client)
    assert vera.get("/p/stillbrook/settings/").status_code == 200
    vera.post("/p/stillbrook/rulebook/drafts/start/", {"source": "shipped:plain-season"})
    draft = Rulebook.objects.get(program=company, is_draft=True)
    where = f"/p/stillbrook/rulebook/drafts/{draft.pk}/put-in-force/"
    assert vera.get(where).status_code == 200
    verbs = verbs_in(User.objects.get(username="vera"), program=company)
    assert Verb.SIGN not in verbs
    other = Program.objects.create(code="purveyor", name="Purveyor", created_at=timezone.now())
    assert verbs_in(User.objects.get(username="vera"), program=other) == frozenset()


def test_its_targets_steer_its_rounds(company: Program) -> None:
    assert what_it_steers(company).startswith("A target steers rounds and courtesy letters")


def test_done_twice_nothing_changes(company: Program, capsys: pytest.CaptureFixture[str]) -> None:
    told("program_settings", *MADE, capsys=capsys)
    assert (Program.objects.count(), Firm.objects.count()) == (1, 1)


def test_a_company_has_one_such_program_and_a_program_one_company(
    company: Program, capsys: pytest.CaptureFixture[str]
) -> None:
    why = refused("program_settings", "--program", "second", "--own-customers", FIRM, capsys=capsys)
    assert why == f"{FIRM} keeps its customers in program stillbrook."
    assert not Program.objects.filter(code="second").exists()
    why = refused(
        "program_settings", "--program", "stillbrook", "--own-customers", "Vell", capsys=capsys
    )
    assert why == f"Program stillbrook holds the customers of {FIRM}."


def test_a_dispatcher_needs_a_company_of_its_own(capsys: pytest.CaptureFixture[str]) -> None:
    Program.objects.create(code="flats", name="Flats", created_at=timezone.now())
    why = refused("program_settings", "--program", "flats", "--dispatcher", "vera", capsys=capsys)
    assert "is no testing company's own" in why
    assert not User.objects.exists()
