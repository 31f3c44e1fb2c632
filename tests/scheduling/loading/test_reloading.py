"""The same file again, and files in which something changed."""

from datetime import date

import pytest

from registry.domain.kinds import Hazard, ServiceKind
from registry.models import (
    Assembly,
    Change,
    HazardAssessment,
    LoadBatch,
    Party,
    Premises,
    PremisesParty,
    Program,
    SetAsideRow,
)
from scheduling.actions.facts import withdraw_facts
from scheduling.models import AssemblyState, Fact, Obligation
from tests.scheduling.loading.spreadsheets import (
    NOW,
    TODAY,
    bring,
    counts,
    live_facts,
    only_assembly,
    row,
    told,
)

pytestmark = pytest.mark.django_db

NEXT_WEEK = date(2026, 12, 2)


def stored() -> list[list[object]]:
    """Every row that a load may write, to compare before and after."""
    models = (Assembly, Premises, Party, PremisesParty, HazardAssessment, Fact, Obligation,
              AssemblyState, Change, LoadBatch, SetAsideRow)  # fmt: skip
    return [list(model.objects.order_by("pk").values_list()) for model in models]


def test_the_same_file_again_changes_nothing_at_all() -> None:
    rows = [row(), row(Serial="A2", Size="big"), row(Serial="", Acct="2", Svc_Addr="9 Elm St")]
    assert counts(bring(*rows)) == (2, 0, 0, 1)
    before = stored()
    assert counts(bring(*rows)) == (0, 0, 2, 1)
    assert stored() == before


def test_the_same_rows_in_another_file_leave_no_change_rows() -> None:
    bring(row(), row(Serial="A2"))
    changes = Change.objects.count()
    assert counts(bring(row(Serial="A2"), row())) == (0, 0, 2, 0)
    assert Change.objects.count() == changes


def test_a_load_leaves_one_change_row_with_the_differences_of_its_rows() -> None:
    bring(row(), row(Serial="A2"))
    bring(row(Location="vault at curb"), row(Serial="A2"))
    change = Change.objects.get(what="load of registry", batch=LoadBatch.objects.first())
    assert change.after["rows"] == [
        {
            "row": 2,
            "assembly": only_assembly().pk,
            "changes": {"location": ["riser room", "vault at curb"]},
        }
    ]
    assert only_assembly().in_vault


@pytest.mark.parametrize(
    ("column", "value"),
    [("Size", "1"), ("Type", "RPDA"), ("Model", "N2"), ("Location", "pit"), ("Hazard", "Low"),
     ("Service", "Fire"), ("Comments", "gate code"), ("Customer", "Larkspur Mill"),
     ("Zip", "99172"), ("E-mail", "bea@example.org"), ("Owner Name", "Bea Fennelgate"),
     ("Mailing Address", "PO Box 7"),
     ("Last Test", "6/1/2026"), ("Install Date", "3/2/2020"), ("Status", "Removed"),
     ("Lat", "46.86"), ("Svc Addr", "14 Larkspur Ln"), ("Comments", "two\nlines")],
)  # fmt: skip
def test_a_changed_cell_updates_its_row_alone_and_then_nothing(column: str, value: str) -> None:
    elsewhere = row(Serial="A2", Acct="2-2", Svc_Addr="9 Elm St", Owner_Name="Cal", Customer="Mill")
    bring(row(), elsewhere)
    changed = row() | {column: value}
    assert counts(bring(changed, elsewhere)) == (0, 1, 1, 0)
    assert counts(bring(changed, elsewhere)) == (0, 0, 2, 0)


def test_a_spelling_that_means_the_same_is_no_change() -> None:
    bring(row())
    same = row(Type="RPZ", Size='3/4"', Hazard="Health", Install_Date="2020-03-01",
               Last_Test="46152", Service="Dom.", Status="Y", Location=" riser  room ")  # fmt: skip
    assert counts(bring(same)) == (0, 0, 1, 0)


def test_a_later_last_test_is_added_to_the_earlier_one() -> None:
    bring(row())
    bring(row(Last_Test="11/2/2026"))
    assert live_facts() == [
        ("installed", date(2020, 3, 1)),
        ("passed", date(2026, 5, 10)),
        ("passed", date(2026, 11, 2)),
    ]


def test_a_corrected_last_test_withdraws_the_stated_pass() -> None:
    bring(row())
    bring(row(Last_Test="4/10/2026"))
    assert live_facts() == [("installed", date(2020, 3, 1)), ("passed", date(2026, 4, 10))]
    withdrawn = Fact.objects.get(withdrawn_at__isnull=False)
    assert (withdrawn.on, withdrawn.withdrawn_by) == (date(2026, 5, 10), "a test")
    assert AssemblyState.objects.get().last_passed_on == date(2026, 4, 10)


def test_a_correction_withdraws_only_what_is_later_than_what_is_stated_now() -> None:
    bring(row(Last_Test="5/10/2025"))
    bring(row(Last_Test="5/10/2026"))
    bring(row(Last_Test="4/10/2026"))
    assert [on for kind, on in live_facts() if kind == "passed"] == [
        date(2025, 5, 10),
        date(2026, 4, 10),
    ]


def test_a_last_test_taken_out_of_the_sheet_is_withdrawn() -> None:
    bring(row())
    assert counts(bring(row(Last_Test="n/a"))) == (0, 1, 0, 0)
    assert live_facts() == [("installed", date(2020, 3, 1))]


def test_a_sheet_without_the_column_says_nothing_of_the_tests() -> None:
    bring(row())
    narrow = {name: value for name, value in row().items() if name not in {"Last Test", "Status"}}
    assert counts(bring(narrow)) == (0, 0, 1, 0)
    assert len(live_facts()) == 2


def test_a_field_test_recorded_meanwhile_stays_when_the_old_sheet_comes_again() -> None:
    bring(row())
    assembly = only_assembly()
    Fact.objects.create(program=assembly.program, assembly=assembly, kind="passed",
                        on=date(2026, 11, 20), source="field test",
                        recorded_at=assembly.created_at)  # fmt: skip
    assert counts(bring(row(), as_of=NEXT_WEEK)) == (0, 0, 1, 0)
    assert ("passed", date(2026, 11, 20)) in live_facts()


def test_a_result_that_says_fail_makes_the_last_test_a_failure() -> None:
    bring(row() | {"Result": "FAIL"})
    assert ("failed", date(2026, 5, 10)) in live_facts()
    assert bring(row() | {"Result": "FAIL"}).unchanged == 1
    bring(row() | {"Result": "Pass"})
    assert [kind for kind, _ in live_facts()] == ["installed", "passed"]


def test_a_sheet_without_results_cannot_turn_a_failure_into_a_pass() -> None:
    bring(row() | {"Result": "FAIL"})
    assert counts(bring(row())) == (0, 0, 1, 0)
    assert [kind for kind, _ in live_facts()] == ["installed", "failed"]


def test_a_result_nobody_understands_is_no_pass_and_takes_nothing_back() -> None:
    report = bring(row() | {"Result": "no access"})
    assert [kind for kind, _ in live_facts()] == ["installed"]
    assert (2, "Result") in told(report)


def test_a_last_and_a_last_passing_test_are_both_kept() -> None:
    bring(row() | {"Last Passing Test": "5/2/2025", "Result": "Failed"})
    assert live_facts()[1:] == [("passed", date(2025, 5, 2)), ("failed", date(2026, 5, 10))]


def test_removed_and_inactive_are_facts_dated_by_the_load_that_say_so() -> None:
    bring(row(Status="Removed"), row(Serial="A2", Status="Inactive"))
    for serial, kind in (("A1", "removed"), ("A2", "idled")):
        fact = Fact.objects.get(assembly__serial=serial, kind=kind)
        assert (fact.on, fact.source) == (TODAY, "load")
        assert "dated by the load of 2026-11-25" in fact.reason
    assert counts(bring(row(Status="Removed"), row(Serial="A2", Status="Inactive"),
                        as_of=NEXT_WEEK)) == (0, 0, 2, 0)  # fmt: skip


def test_an_assembly_back_in_use_resumes_on_the_day_of_the_load() -> None:
    bring(row(Status="Inactive"))
    bring(row(Status="Active"), as_of=NEXT_WEEK)
    assert live_facts()[-2:] == [("idled", TODAY), ("resumed", NEXT_WEEK)]
    assert bring(row(Status="Active"), as_of=NEXT_WEEK).unchanged == 1


def test_a_removal_the_sheet_takes_back_is_withdrawn() -> None:
    bring(row(Status="Removed"))
    bring(row(Status="Active"), as_of=NEXT_WEEK)
    assert [kind for kind, _ in live_facts()] == ["installed", "passed"]


def test_an_old_sheet_does_not_undo_what_a_person_recorded() -> None:
    bring(row())
    assembly = only_assembly()
    Fact.objects.create(program=assembly.program, assembly=assembly, kind="idled", on=TODAY,
                        source="person", recorded_at=assembly.created_at)  # fmt: skip
    assert counts(bring(row(), as_of=NEXT_WEEK)) == (0, 0, 1, 0)
    assert live_facts()[-1] == ("idled", TODAY)


@pytest.mark.parametrize("kind", ["installed", "passed", "removed"])
def test_what_a_person_withdrew_is_not_brought_back_by_the_old_sheet(kind: str) -> None:
    bring(row(Status="Removed"))
    fact = Fact.objects.get(kind=kind)
    withdraw_facts(program=fact.program, fact_ids=[fact.pk], at=NOW, reason="Wrong.", by="a clerk")
    report = bring(row(Status="Removed"), as_of=NEXT_WEEK)
    assert counts(report) == (0, 0, 1, 0)
    assert kind not in [found for found, _ in live_facts()]
    assert len(report.warnings) == (kind != "removed")


def test_a_correction_by_a_sheet_may_be_taken_back_by_the_next() -> None:
    bring(row(Last_Test="5/10/2026"))
    bring(row(Last_Test="4/10/2026"))
    bring(row(Last_Test="5/10/2026"))
    assert ("passed", date(2026, 5, 10)) in live_facts()


def test_a_change_of_owner_is_dated_and_restarts_the_lawful_part() -> None:
    bring(row(Last_Test="5/10/2024"), row(Serial="A2", Last_Test="5/10/2024"))
    Obligation.objects.filter(closed_on__isnull=True).update(opened_on=TODAY)
    sold = {"Owner Name": "Bea Sallowfield", "Mailing Address": "PO Box 9"}
    late = row(Last_Test="5/10/2024") | sold
    report = bring(late, late | {"Serial": "A2"}, as_of=NEXT_WEEK)
    assert counts(report) == (0, 2, 0, 0)
    roles = PremisesParty.objects.order_by("pk").values_list("party__name", "since_on", "until_on")
    assert list(roles) == [
        ("Ann Fennelgate", None, NEXT_WEEK),
        ("Bea Sallowfield", NEXT_WEEK, None),
    ]
    opened = Obligation.objects.filter(closed_on__isnull=True, opened_on__isnull=False)
    assert set(opened.values_list("lawful_since", flat=True)) == {NEXT_WEEK}


def test_a_corrected_address_is_the_same_premises_when_the_whole_account_moves() -> None:
    bring(row(), row(Serial="A2"))
    site = Premises.objects.get()
    report = bring(row(Svc_Addr="21 Larkspur Ln"), row(Serial="A2", Svc_Addr="21 Larkspur Ln"))
    assert counts(report) == (0, 2, 0, 0)
    assert [(found.pk, found.address) for found in Premises.objects.all()] == [
        (site.pk, "21 Larkspur Ln")
    ]


def test_one_assembly_that_moves_leaves_the_others_where_they_are() -> None:
    bring(row(), row(Serial="A2"))
    assert counts(bring(row(), row(Serial="A2", Svc_Addr="9 Elm St"))) == (0, 1, 1, 0)
    assert only_assembly("A1").premises.address == "12 Larkspur Ln"
    assert only_assembly("A2").premises.address == "9 Elm St"
    assert only_assembly("A2").connection.premises == only_assembly("A2").premises


def test_street_and_st_are_one_premises() -> None:
    bring(row(Svc_Addr="12 Larkspur Street"), row(Serial="A2", Svc_Addr="12 Larkspur St."))
    assert Premises.objects.count() == 1


def test_rows_without_a_serial_get_numbers_of_ours_and_are_found_again() -> None:
    twins = [row(Serial=""), row(Serial="n/a", Last_Test="5/11/2026")]
    report = bring(*twins)
    assert counts(report) == (2, 0, 0, 0)
    assert told(report) == [(2, "Serial"), (3, "Serial")]
    assert list(Assembly.objects.values_list("serial", "serial_is_ours")) == [
        ("NO-SERIAL-0001", True),
        ("NO-SERIAL-0002", True),
    ]
    assert counts(bring(*twins)) == (0, 0, 2, 0)


def test_a_serial_read_later_goes_to_the_assembly_that_had_none() -> None:
    bring(row(Serial=""))
    assert counts(bring(row(Serial="Z9"))) == (0, 1, 0, 0)
    assembly = Assembly.objects.get()
    assert (assembly.serial, assembly.serial_is_ours) == ("Z9", False)


def test_a_serial_of_another_unit_does_not_take_over_one_without() -> None:
    bring(row(Serial=""))
    report = bring(row(Serial=""), row(Serial="Z9", Install_Date="4/4/2024"))
    assert counts(report) == (1, 0, 1, 0)


def test_a_serial_on_record_under_another_maker_is_another_assembly_and_told() -> None:
    bring(row())
    report = bring(row(Make="Castlewell"))
    assert counts(report) == (1, 0, 0, 0)
    assert told(report) == [(2, "Serial")]
    assert Assembly.objects.count() == 2


def test_a_changed_hazard_is_assessed_on_the_day_of_the_load() -> None:
    bring(row(Hazard="High"))
    bring(row(Hazard="Low"), as_of=NEXT_WEEK)
    found = HazardAssessment.objects.order_by("pk").values_list("hazard", "assessed_on")
    assert list(found) == [(Hazard.HIGH, TODAY), (Hazard.LOW, NEXT_WEEK)]
    assert only_assembly().hazard == Hazard.LOW


def test_a_changed_service_moves_the_assembly_to_another_connection_of_the_premises() -> None:
    bring(row())
    bring(row(Service="Fire line"))
    assert only_assembly().connection.kind == ServiceKind.FIRE


def test_a_blank_cell_leaves_what_belongs_to_premises_and_owner_as_it_was() -> None:
    bring(row())
    bare = {"Customer": "", "E-mail": "", "Lat": "", "Long": "", "Zip": "", "Owner Name": ""}
    assert counts(bring(row() | bare)) == (0, 0, 1, 0)
    assert only_assembly().premises.name == "Larkspur Bakery"


def test_a_blank_cell_clears_what_belongs_to_the_assembly() -> None:
    bring(row(Comments="gate code 4411"))
    assert counts(bring(row(Comments=""))) == (0, 1, 0, 0)
    assert only_assembly().notes == ""


def test_a_dry_run_says_the_same_and_changes_nothing() -> None:
    dry = bring(row(), row(Serial="A2", Size="big"), dry_run=True)
    assert counts(dry) == (1, 0, 0, 1)
    assert not Program.objects.exists()
    wet = bring(row(), row(Serial="A2", Size="big"))
    assert dry.as_json() == wet.as_json()
    before = stored()
    bring(row(Size="2", Last_Test="6/6/2026", Owner_Name="Bea"), dry_run=True)
    assert stored() == before


def test_assemblies_that_are_not_in_the_file_stay_as_they_are() -> None:
    bring(row(), row(Serial="A2", Acct="2", Svc_Addr="9 Elm St"))
    before = live_facts("A2")
    assert counts(bring(row())) == (0, 0, 1, 0)
    assert live_facts("A2") == before
