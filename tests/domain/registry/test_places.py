"""States, ZIP codes and coordinates: mended where the mend is plain, told where it is not."""

from decimal import Decimal

import pytest
import zipcodes
from hypothesis import given
from hypothesis import strategies as st

from registry.domain.places import Position, read_position, read_state, read_zip
from registry.domain.zip_prefixes import STATE_NAMES, STATES_OF_PREFIX

CODES: list[dict[str, str]] = zipcodes.list_all()  # type: ignore[no-untyped-call]


def test_the_prefixes_agree_with_every_zip_code_of_a_public_list() -> None:
    # the `zipcodes` package holds 42,000 codes with their states
    wrong = [
        (entry["zip_code"], entry["state"])
        for entry in CODES
        if entry["state"] not in STATES_OF_PREFIX.get(entry["zip_code"][:3], frozenset())
    ]
    assert len(CODES) > 40_000
    assert len(wrong) <= 5  # a handful of codes deliver across a state line
    assert {state for _, state in wrong} <= set(STATE_NAMES)


def test_no_prefix_is_given_to_a_state_that_has_no_code_there() -> None:
    seen = {(entry["zip_code"][:3], entry["state"]) for entry in CODES}
    used = {prefix for prefix, _ in seen}
    invented = [
        (prefix, state)
        for prefix, states in STATES_OF_PREFIX.items()
        for state in states
        if prefix in used and (prefix, state) not in seen
    ]
    assert len(invented) <= 3


@pytest.mark.parametrize(
    ("written", "state", "code"),
    [("99171", "WA", "99171"), ("1234", "MA", "01234"), ("601", "PR", "00601"),
     ("99171-1234", "WA", "99171-1234"), ("991711234", "WA", "99171-1234"),
     ("10011234", "MA", "01001-1234"), ("99171.0", "WA", "99171"), ("99171-", "WA", "99171"),
     ("v5a1s6", "BC", "V5A 1S6"), ("", "WA", ""), ("n/a", "WA", "")],
)  # fmt: skip
def test_a_zip_code_gets_its_lost_zeros_back(written: str, state: str, code: str) -> None:
    reading = read_zip(written, state=state)
    assert (reading.value, reading.warning) == (code, None)


@pytest.mark.parametrize(("written", "state"), [("99171", "OR"), ("9171", "WA"), ("213", "MD")])
def test_a_zip_code_of_another_state_is_kept_and_told(written: str, state: str) -> None:
    reading = read_zip(written, state=state)
    assert reading.value == written.zfill(5)
    assert reading.warning is not None
    assert state in reading.warning


def test_what_is_no_zip_code_is_kept_and_told() -> None:
    assert read_zip("near the river", state="WA").value == "near the river"
    assert read_zip("near the river", state="WA").warning is not None


@given(st.sampled_from([entry["zip_code"] for entry in CODES[::97]]))
def test_a_zip_code_written_as_a_number_comes_back_whole(code: str) -> None:
    assert read_zip(str(int(code)), state="").value == code


@pytest.mark.parametrize(
    ("written", "state"),
    [("WA", "WA"), ("wa", "WA"), ("Washington", "WA"), ("W.A.", "WA"), ("new york", "NY"),
     ("", ""), ("n/a", ""), ("Elsewhere", "Elsewhere")],
)  # fmt: skip
def test_a_state_is_its_postal_abbreviation(written: str, state: str) -> None:
    assert read_state(written) == state


def at(lat: str, lon: str) -> Position:
    return Position(lat=Decimal(lat), lon=Decimal(lon))


@pytest.mark.parametrize(
    ("lat", "lon"),
    [("46.848386", "-118.2373"), (" 46.848386 ", "-118.237300"), ("46,848386", "-118,2373"),
     ("46.848386 N", "118.2373 W"), ("N 46.848386", "W 118.2373")],
)  # fmt: skip
def test_coordinates_are_decimal_degrees(lat: str, lon: str) -> None:
    reading = read_position(lat=lat, lon=lon, state="WA")
    assert reading.value == at("46.848386", "-118.237300")
    assert reading.warning is None


def test_degrees_minutes_and_seconds_are_the_same_place() -> None:
    # 46°30'36" is 46.51, 118°15'00" is 118.25
    reading = read_position(lat="46°30'36\"N", lon="118°15'00\"W")
    assert reading.value == at("46.510000", "-118.250000")


@pytest.mark.parametrize(
    ("lat", "lon", "state"), [("-118.31", "46.84", "WA"), ("-118.31", "46.84", ""),
                              ("-75.1", "40.7", "NJ")]
)  # fmt: skip
def test_plainly_swapped_coordinates_are_put_right_and_told(lat: str, lon: str, state: str) -> None:
    reading = read_position(lat=lat, lon=lon, state=state)
    assert (reading.value.lat, reading.value.lon) == (Decimal(lon), Decimal(lat))
    assert reading.warning is not None
    assert "swapped" in reading.warning


@pytest.mark.parametrize(
    ("lat", "lon"),
    [("146.8", "-218.3"), ("999.9", "-999.9"), ("north", "west"), ("0", "0"), ("nan", "inf"),
     ("46.8", ""), ("", "-118.2"), ("46.8.1", "-118"), ("1e1", "2"), ("-91", "181")],
)  # fmt: skip
def test_impossible_coordinates_are_left_empty_and_told(lat: str, lon: str) -> None:
    reading = read_position(lat=lat, lon=lon, state="WA")
    assert reading.value == Position()
    assert reading.warning is not None


def test_no_coordinates_are_nothing_to_tell() -> None:
    reading = read_position(lat="", lon="n/a")
    assert reading.value == Position()
    assert reading.warning is None


def test_outside_the_states_nothing_is_taken_for_swapped_that_may_be_right() -> None:
    assert read_position(lat="-75.1", lon="40.7").value == at("-75.1", "40.7")
