"""Hazards, services, states of an assembly and results, as offices write them."""

import pytest

from registry.domain.kinds import Hazard, Protects, ServiceKind
from registry.domain.words import (
    StatedResult,
    StatedStatus,
    read_hazard,
    read_protects,
    read_result,
    read_service,
    read_status,
    read_yes,
)

HIGH = ["High", "HIGH", "high ", "Health", "H", "Health hazard", "Contaminant", "Severe"]
LOW = [
    "Low",
    "low",
    "L",
    "Non-health",
    "non health",
    "Non-Health Hazard",
    "Pollutant",
    "Low hazard",
]


@pytest.mark.parametrize("written", HIGH)
def test_a_contaminant_is_a_high_hazard(written: str) -> None:
    # a contaminant can cause illness or death: WAC 246-290-010
    assert read_hazard(written).value is Hazard.HIGH
    assert read_hazard(written).warning is None


@pytest.mark.parametrize("written", LOW)
def test_a_pollutant_is_a_low_hazard(written: str) -> None:
    assert read_hazard(written).value is Hazard.LOW
    assert read_hazard(written).warning is None


@pytest.mark.parametrize("written", ["medium-ish", "?", "moderate", "unknown", "3"])
def test_a_hazard_nobody_understands_is_not_assessed_and_told(written: str) -> None:
    reading = read_hazard(written)
    assert reading.value is Hazard.NOT_ASSESSED
    assert reading.warning is not None


@pytest.mark.parametrize("written", ["", " ", "not assessed", "Not yet assessed"])
def test_no_hazard_on_record_is_not_assessed_and_no_surprise(written: str) -> None:
    assert read_hazard(written).value is Hazard.NOT_ASSESSED
    assert read_hazard(written).warning is None


def test_a_column_that_asks_for_the_health_hazard_is_answered_yes_or_no() -> None:
    assert read_hazard("Y", header="Health Hazard?").value is Hazard.HIGH
    assert read_hazard("no", header="Health Hazard?").value is Hazard.LOW
    assert read_hazard("Y", header="Hazard").value is Hazard.NOT_ASSESSED


@pytest.mark.parametrize(
    ("written", "kind"),
    [("Domestic", ServiceKind.DOMESTIC), ("Dom.", ServiceKind.DOMESTIC),
     ("domestic water", ServiceKind.DOMESTIC), ("Irrigation", ServiceKind.IRRIGATION),
     ("Irr", ServiceKind.IRRIGATION), ("Lawn", ServiceKind.IRRIGATION),
     ("Lawn sprinkler", ServiceKind.IRRIGATION), ("Fire", ServiceKind.FIRE),
     ("Fire line", ServiceKind.FIRE), ("Fire sprinkler", ServiceKind.FIRE),
     ("Fire Protection", ServiceKind.FIRE), ("Domestic/Fire", ServiceKind.COMBINED),
     ("combined domestic and fire", ServiceKind.COMBINED), ("Combo", ServiceKind.COMBINED),
     ("Reclaimed", ServiceKind.RECLAIMED), ("recycled water", ServiceKind.RECLAIMED),
     ("Auxiliary", ServiceKind.AUXILIARY), ("aux well", ServiceKind.AUXILIARY),
     ("", ServiceKind.UNKNOWN), ("n/a", ServiceKind.UNKNOWN)],
)  # fmt: skip
def test_a_service_is_read_by_its_words(written: str, kind: ServiceKind) -> None:
    assert read_service(written).value is kind
    assert read_service(written).warning is None


@pytest.mark.parametrize("written", ["sprinkler", "boiler", "irrigation & domestic", "process"])
def test_a_service_that_could_be_two_things_is_left_empty_and_told(written: str) -> None:
    assert read_service(written).value is ServiceKind.UNKNOWN
    assert read_service(written).warning is not None


@pytest.mark.parametrize("kind", list(ServiceKind))
def test_every_service_as_exported_reads_back_to_itself(kind: ServiceKind) -> None:
    assert read_service(kind.value).value is kind


@pytest.mark.parametrize(
    ("written", "said"),
    [("Active", StatedStatus.ACTIVE), ("Y", StatedStatus.ACTIVE), ("active", StatedStatus.ACTIVE),
     ("In service", StatedStatus.ACTIVE), ("Inactive", StatedStatus.INACTIVE),
     ("N", StatedStatus.INACTIVE), ("Out of Service", StatedStatus.INACTIVE),
     ("Removed", StatedStatus.REMOVED), ("retired", StatedStatus.REMOVED), ("", None),
     ("n/a", None)],
)  # fmt: skip
def test_a_status_is_active_inactive_or_removed(written: str, said: StatedStatus | None) -> None:
    assert read_status(written).value is said
    assert read_status(written).warning is None


def test_a_column_that_asks_whether_it_is_removed_is_answered_yes_or_no() -> None:
    assert read_status("Y", header="Removed?").value is StatedStatus.REMOVED
    assert read_status("N", header="Removed?").value is StatedStatus.ACTIVE
    assert read_status("yes", header="Inactive").value is StatedStatus.INACTIVE
    assert read_status("Y", header="Active?").value is StatedStatus.ACTIVE


def test_a_status_nobody_understands_changes_nothing_and_is_told() -> None:
    assert read_status("see file").value is None
    assert read_status("see file").warning is not None


@pytest.mark.parametrize(
    ("written", "said"),
    [("PASS", StatedResult.PASS), ("P", StatedResult.PASS), ("Failed", StatedResult.FAIL),
     ("F", StatedResult.FAIL), ("", None)],
)  # fmt: skip
def test_a_result_is_pass_or_fail(written: str, said: StatedResult | None) -> None:
    assert read_result(written).value is said


def test_a_result_nobody_understands_is_no_pass() -> None:
    assert read_result("no access").value is None
    assert read_result("no access").warning is not None


def test_yes_no_and_what_is_neither() -> None:
    assert [read_yes(word) for word in ("Y", "yes", "N", "No", "perhaps", "")] == [
        True, True, False, False, None, None,
    ]  # fmt: skip


def test_containment_protects_the_main_and_isolation_a_fixture() -> None:
    assert read_protects("Containment").value is Protects.CONTAINMENT
    assert read_protects("Premises isolation").value is Protects.CONTAINMENT
    assert read_protects("In-plant").value is Protects.ISOLATION
    assert read_protects("").value is None
    assert read_protects("both").warning is not None
