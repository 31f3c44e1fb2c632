"""A column of the spreadsheet gives premises to testing companies."""

from __future__ import annotations

from datetime import date

import pytest

from registry.actions.assignments import assign_premises, take_back
from registry.changes import Hand
from registry.domain.assigned import HowAssigned
from registry.domain.identity import firm_key
from registry.models import Approval, Assignment, Change, Firm, Premises, Program
from tests.scheduling.loading.spreadsheets import NOW, TODAY, bring, counts, program, row, told

pytestmark = [pytest.mark.django_db, pytest.mark.database]

HAND = Hand(by="Marit", at=NOW)


def firm(name: str, *, of: Program | None = None, until: date | None = None) -> Firm:
    made = Firm.objects.create(name=name, key=firm_key(name))
    Approval.objects.create(
        program=of or program(), firm=made, valid_from=date(2024, 1, 1), valid_to=until
    )
    return made


def given() -> list[tuple[str, str, str]]:
    """Account, company and how, of what runs."""
    running = Assignment.objects.filter(ended_on__isnull=True).order_by("premises__account", "pk")
    return list(running.values_list("premises__account", "firm__name", "how"))


@pytest.fixture
def _office() -> None:
    bring(row(), row(Serial="B1", Acct="2-2", Svc_Addr="9 Elm St"))
    firm("Stillbrook Testing")
    firm("Quill Backflow, Inc.")


def rows(first: str, second: str = "") -> list[dict[str, str]]:
    return [
        row(Assigned_to=first),
        row(Serial="B1", Acct="2-2", Svc_Addr="9 Elm St", Assigned_to=second),
    ]


@pytest.mark.usefixtures("_office")
def test_a_sheet_gives_premises_to_the_companies_it_names() -> None:
    report = bring(*rows("stillbrook  TESTING", "Quill Backflow Inc"))
    assert counts(report) == (0, 2, 0, 0)
    assert (report.assigned, report.columns["Assigned to"]) == (2, "assigned_to")
    assert given() == [
        ("1-1", "Stillbrook Testing", "by a load"),
        ("2-2", "Quill Backflow, Inc.", "by a load"),
    ]
    change = Change.objects.get(what="load of registry", after__rows__0__has_key="changes")
    assert change.after["rows"][0]["changes"] == {"assigned_to": [None, "Stillbrook Testing"]}


@pytest.mark.usefixtures("_office")
def test_the_same_sheet_again_gives_nothing_and_a_blank_takes_nothing() -> None:
    bring(*rows("Stillbrook Testing"))
    changes = Change.objects.count()
    for again in (rows("Stillbrook Testing"), rows("")):
        report = bring(*again)
        assert (counts(report), report.assigned, report.warnings) == ((0, 0, 2, 0), 0, [])
    assert given() == [("1-1", "Stillbrook Testing", "by a load")]
    assert Change.objects.count() == changes


@pytest.mark.usefixtures("_office")
def test_a_dry_run_says_how_many_and_gives_none() -> None:
    report = bring(*rows("Stillbrook Testing", "Stillbrook Testing"), dry_run=True)
    assert report.as_json()["assigned"] == 2
    assert any(line.split() == ["2", "assigned"] for line in report.lines())
    assert given() == []


def test_a_file_without_the_column_keeps_its_answer_to_the_letter() -> None:
    assert set(bring(row()).as_json()) == {
        "rows", "created", "updated", "unchanged", "rejected", "warnings", "columns",
    }  # fmt: skip


@pytest.mark.usefixtures("_office")
def test_a_company_nobody_accepts_is_told_at_its_cell_and_the_row_lands() -> None:
    other = Program.objects.create(code="other", name="Other", zone="UTC", created_at=NOW)
    firm("Elsewhere Testing", of=other)
    firm("Bygone Testing", until=date(2026, 11, 24))
    new = row(Serial="C1", Acct="3-3", Svc_Addr="1 Oak St", Assigned_to="Elsewhere Testing")
    report = bring(*rows("Nobody Knows It", "Bygone Testing"), new)
    assert counts(report) == (1, 0, 2, 0)
    found = [(w.row, w.column, w.value) for w in report.warnings]
    assert found == [
        (2, "Assigned to", "Nobody Knows It"),
        (3, "Assigned to", "Bygone Testing"),
        (4, "Assigned to", "Elsewhere Testing"),
    ]
    assert all("Quill Backflow, Inc., Stillbrook Testing" in w.message for w in report.warnings)
    assert not any("Elsewhere" in w.message for w in report.warnings)
    assert given() == []


def test_a_first_load_before_the_testers_says_what_to_do() -> None:
    report = bring(row(Assigned_to="Stillbrook Testing"))
    assert counts(report) == (1, 0, 0, 0)
    assert "load the testers first" in report.warnings[0].message


@pytest.mark.usefixtures("_office")
def test_rows_of_one_premises_that_disagree_are_told_and_the_first_holds() -> None:
    report = bring(
        row(Assigned_to="Stillbrook Testing"),
        row(Serial="A2", Assigned_to="Quill Backflow, Inc."),
        row(Serial="A3", Assigned_to=""),
    )
    assert told(report) == [(3, "Assigned to")]
    assert given() == [("1-1", "Stillbrook Testing", "by a load")]


@pytest.mark.usefixtures("_office")
def test_the_next_sheet_may_give_it_to_another_and_the_first_ends_that_day() -> None:
    bring(*rows("Stillbrook Testing"))
    later = date(2026, 12, 1)
    assert bring(*rows("Quill Backflow, Inc."), as_of=later).assigned == 1
    assert given() == [("1-1", "Quill Backflow, Inc.", "by a load")]
    assert Assignment.objects.get(firm__name="Stillbrook Testing").ended_on == later


@pytest.mark.usefixtures("_office")
def test_what_a_person_assigned_stays_and_the_sheet_is_told() -> None:
    place = Premises.objects.get(account="1-1")
    assign_premises(
        program=program(), firm=Firm.objects.get(name="Quill Backflow, Inc."),
        premises=[place.pk], how=HowAssigned.HAND, on=TODAY, hand=HAND,
    )  # fmt: skip
    report = bring(*rows("Stillbrook Testing", "Stillbrook Testing"))
    assert (counts(report), report.assigned) == ((0, 1, 1, 0), 1)
    (warning,) = report.warnings
    assert (warning.row, warning.value) == (2, "Stillbrook Testing")
    assert "assigned this premises to Quill Backflow, Inc. on 2026-11-25" in warning.message
    assert given()[0] == ("1-1", "Quill Backflow, Inc.", "by hand")


@pytest.mark.usefixtures("_office")
def test_what_a_person_took_back_stays_taken_back() -> None:
    bring(*rows("Stillbrook Testing"))
    place = Premises.objects.get(account="1-1")
    assert take_back(program=program(), premises=[place.pk], on=TODAY, hand=HAND) == 1
    report = bring(*rows("Stillbrook Testing"))
    assert (counts(report), report.assigned) == ((0, 0, 2, 0), 0)
    assert "took this premises back" in report.warnings[0].message
    assert given() == []


@pytest.mark.usefixtures("_office")
def test_a_row_that_is_set_aside_assigns_nothing() -> None:
    assert bring(row(Size="big", Assigned_to="Stillbrook Testing")).assigned == 0
    assert given() == []


@pytest.mark.usefixtures("_office")
def test_what_a_plan_assigned_becomes_the_sheets() -> None:
    place = Premises.objects.get(account="1-1")
    still = Firm.objects.get(name="Stillbrook Testing")
    Assignment.objects.create(
        program=program(), firm=still, premises=place, made_on=TODAY, how=HowAssigned.PLAN
    )
    assert bring(*rows("Stillbrook Testing")).assigned == 1
    assert given() == [("1-1", "Stillbrook Testing", "by a load")]
