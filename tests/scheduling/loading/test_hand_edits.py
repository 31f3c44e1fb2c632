"""What a person wrote by hand stays when a sheet comes again, and the sheet's owner is told."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from registry.changes import Hand
from registry.models import Premises, Program, ServiceConnection
from scheduling.actions.by_hand.premises import keep_premises
from scheduling.models import AssemblyState
from tests.scheduling.loading.spreadsheets import bring, counts, only_assembly, row

pytestmark = pytest.mark.django_db

FIELDS = ("account", "name", "address", "city", "state", "zip", "use", "phone")


def by_hand(**changed: str) -> Premises:
    site = Premises.objects.get()
    values = {name: getattr(site, name) for name in FIELDS} | changed
    hand = Hand(by="A. Clerk", at=datetime(2026, 11, 25, 21, tzinfo=UTC), reason="telephone")
    return keep_premises(program=Program.objects.get(), premises=site, values=values, hand=hand)


def test_a_field_edited_by_hand_stays_and_the_difference_is_told() -> None:
    bring(row())
    by_hand(name="Larkspur Mill", zip="99199")
    report = bring(row())
    assert counts(report) == (0, 0, 1, 0)
    site = Premises.objects.get()
    assert (site.name, site.zip) == ("Larkspur Mill", "99199")
    told = [(one.column, one.value) for one in report.warnings if "by hand" in one.message]
    assert told == [("Customer", "Larkspur Bakery"), ("Zip", "99171")]
    bring(row())
    assert Premises.objects.get().name == "Larkspur Mill"


def test_what_nobody_edited_still_follows_the_sheet() -> None:
    bring(row())
    by_hand(name="Larkspur Mill")
    report = bring(row(Customer="Larkspur Bakery Two", Zip="99172"))
    site = Premises.objects.get()
    assert (site.name, site.zip) == ("Larkspur Mill", "99172")
    assert sum("by hand" in one.message for one in report.warnings) == 1


def test_a_blank_left_blank_by_hand_is_filled_by_a_sheet() -> None:
    bring(row(Phone=""))
    by_hand(name="Larkspur Mill", phone="")
    bring(row(Customer="Larkspur Mill", Phone="509 555 0100"))
    assert Premises.objects.get().phone == "509 555 0100"


def test_a_blank_made_blank_by_hand_stays_blank() -> None:
    bring(row(Phone="509 555 0100"))
    by_hand(phone="")
    bring(row(Phone="509 555 0100"))
    assert Premises.objects.get().phone == ""


def test_an_address_corrected_by_hand_makes_no_second_premises() -> None:
    bring(row())
    by_hand(address="12 Larkspur Lane North")
    for _ in range(2):
        report = bring(row())
        assert Premises.objects.get().address == "12 Larkspur Lane North"
        assert any("by hand" in one.message for one in report.warnings)
    assert only_assembly().premises == Premises.objects.get()


def test_chemicals_and_part_of_the_year_come_with_a_sheet_and_blanks_leave_them() -> None:
    bring(row(Chemicals="Yes", Seasonal="no"))
    service = ServiceConnection.objects.get()
    assert (service.has_chemicals, service.runs_part_year) == (True, False)
    assert counts(bring(row(Chemicals="", Seasonal=""))) == (0, 0, 1, 0)
    assert counts(bring(row(Chemicals="N", Seasonal="no"))) == (0, 1, 0, 0)
    service.refresh_from_db()
    assert service.has_chemicals is False
    assert AssemblyState.objects.count() == 1


def test_what_a_visit_needs_comes_with_a_sheet_and_blanks_leave_it() -> None:
    says = {
        "Confined Space": "yes", "Twin": "no", "Tell Before Shutdown": "Plant engineer, x 12",
        "Days Before Shutdown": "3 days", "Best Time to Call": "mornings",
    }  # fmt: skip
    assert counts(bring(row(**says))) == (1, 0, 0, 0)
    assembly, site = only_assembly(), Premises.objects.get()
    assert (assembly.permit_space, assembly.has_twin) == (True, False)
    assert (site.shutdown_tell, site.shutdown_days) == ("Plant engineer, x 12", 3)
    assert site.call_when == "mornings"
    assert counts(bring(row(**dict.fromkeys(says, "")))) == (0, 0, 1, 0)
    assert counts(bring(row(**{**says, "Twin": "yes", "Days Before Shutdown": "soon"}))) == (
        0, 1, 0, 0,
    )  # fmt: skip
    assert (only_assembly().has_twin, Premises.objects.get().shutdown_days) == (True, 3)


def test_a_cell_that_says_neither_yes_nor_no_is_told() -> None:
    report = bring(row(Chemicals="perhaps"))
    assert ServiceConnection.objects.get().has_chemicals is None
    assert [one.message for one in report.warnings if one.column == "Chemicals"] == [
        "'perhaps' is not understood; write yes or no."
    ]
