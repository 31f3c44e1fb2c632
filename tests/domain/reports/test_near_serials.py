"""A serial nobody knows is held against those that one slip would turn into it."""

from __future__ import annotations

import pytest

from registry.domain.identity import maker_key, serial_key
from reports.domain.near_serials import MOST_PROPOSED, KnownSerial, SerialIndex


def known(serial: str, maker: str = "Northfork") -> KnownSerial:
    return KnownSerial(
        serial=serial, maker=maker, serial_key=serial_key(serial), maker_key=maker_key(maker)
    )


REGISTRY = SerialIndex.of(
    [known("K925771"), known("A100234"), known("B20-0871"), known("C5", "Tidemark")]
)


def near(serial: str, maker: str = "Northfork") -> list[str]:
    found = REGISTRY.near(serial_key=serial_key(serial), maker_key=maker_key(maker))
    return [one.serial for one in found]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("177529K", "K925771"),  # reversed
        ("K952771", "K925771"),  # neighbours swapped
        ("925771K", "K925771"),  # the letter moved to the end
        ("A1OO234", "A100234"),  # O for 0
        ("AI00234", "A100234"),  # I for 1
        ("B200871", "B20-0871"),  # a dash left out
        ("A100235", "A100234"),  # one sign wrong
        ("A10023", "A100234"),  # one left out
        ("A1002344", "A100234"),  # one doubled
        ("A103204", "A100234"),  # swapped from afar
    ],
)
def test_one_slip_of_the_pen_finds_the_serial_that_was_meant(written: str, meant: str) -> None:
    assert near(written) == [meant]


def test_the_same_serial_under_another_maker_is_near() -> None:
    assert near("C5") == ["C5"]
    assert near("K925771", "Tidemark") == ["K925771"]


def test_a_wrong_sign_is_only_proposed_for_the_same_maker_or_where_none_is_named() -> None:
    assert near("A100235", "Tidemark") == []
    assert near("A100235", "") == ["A100234"]


def test_what_resembles_nothing_proposes_nothing() -> None:
    assert near("Z999999") == []


def test_no_more_than_five_are_proposed() -> None:
    index = SerialIndex.of([known(f"A{number}") for number in range(10, 60)])
    found = index.near(serial_key="A77", maker_key=maker_key("Northfork"))
    assert len(found) <= MOST_PROPOSED
