"""Sizes as offices write them."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.domain.cells import UnreadableCellError
from registry.domain.sizes import INCHES_OF_DN, read_size, size_text

EIGHTHS = st.integers(min_value=1, max_value=24 * 8).map(lambda n: Fraction(n, 8))


def decimal_of(size: Fraction) -> Decimal:
    return Decimal(size.numerator) / Decimal(size.denominator)


@pytest.mark.parametrize(
    ("written", "inches"),
    [
        ('3/4"', "0.75"), (".75", "0.75"), ("0.75", "0.75"), ("3/4 in", "0.75"),
        ("3/4in.", "0.75"), ("¾", "0.75"), ('¾"', "0.75"), ("3⁄4", "0.75"), ("3/4''", "0.75"),
        ("1 1/2", "1.5"), ('1 1/2"', "1.5"), ("1-1/2", "1.5"), ("1.5", "1.5"), ("1½", "1.5"),
        ('1 ½"', "1.5"), ("1-½", "1.5"), ("1.5 in", "1.5"), ("1 & 1/2", "1.5"),
        ("1 and 1/2 inches", "1.5"), ("1.1/2", "1.5"), ("1,5", "1.5"), ("1.50", "1.5"),
        ("2", "2"), ("2.0", "2"), ("2.", "2"), ('2"', "2"), ("2”", "2"), ("2″", "2"),
        ("2 inch", "2"), ("2-inch", "2"), ("2 IN", "2"), (" 2 ", "2"), ("2-1/2", "2.5"),
        ("10", "10"), ('12"', "12"), ("1/4", "0.25"), ("3/8", "0.375"), ("24", "24"),
    ],
)  # fmt: skip
def test_every_spelling_of_a_size_comes_to_the_same_inches(written: str, inches: str) -> None:
    reading = read_size(written)
    assert reading.value == Decimal(inches)
    assert reading.warning is None


@pytest.mark.parametrize(
    "written",
    ["0", "-2", '3/0"', "big", "", "n/a", "75", "100", "0.1", "-1/2", "1/3", "11/2", "1e1", "nan",
     "inf", "1_0", "２", "2x1", "1 3/2", "?", "+2", "0/4", "1/2/3", "--"],
)  # fmt: skip
def test_what_is_no_size_of_an_assembly_is_unreadable_and_says_what_to_write(written: str) -> None:
    with pytest.raises(UnreadableCellError, match=r"write|missing"):
        read_size(written)


@pytest.mark.parametrize("written", ["4-Mar", "Mar-04", "2026-03-04", "4-Mar-26"])
def test_a_size_that_a_spreadsheet_turned_into_a_date_says_so(written: str) -> None:
    with pytest.raises(UnreadableCellError, match="date"):
        read_size(written)


@pytest.mark.parametrize(
    ("millimetres", "inches"),
    # ISO 6708 nominal diameters beside the pipe sizes of ASME B36.10M (from memory)
    [(15, "0.5"), (20, "0.75"), (25, "1"), (40, "1.5"), (50, "2"), (80, "3"), (100, "4"),
     (150, "6"), (200, "8"), (250, "10"), (300, "12")],
)  # fmt: skip
def test_millimetres_are_read_only_when_they_say_so(millimetres: int, inches: str) -> None:
    for written in (
        f"{millimetres}mm",
        f"{millimetres} mm",
        f"DN{millimetres}",
        f"DN {millimetres}",
    ):
        assert read_size(written).value == Decimal(inches)
    assert INCHES_OF_DN[millimetres] == inches
    with pytest.raises(UnreadableCellError):
        read_size("51mm")


def test_a_size_between_the_eighths_lands_with_a_warning() -> None:
    reading = read_size("1.3")
    assert reading.value == Decimal("1.3")
    assert reading.warning is not None
    assert "nominal" in reading.warning


@given(EIGHTHS, st.sampled_from(["", '"', " in", "in.", " inch", " inches", "''"]))
def test_any_eighth_written_as_a_fraction_or_a_decimal_is_that_size(
    size: Fraction, unit: str
) -> None:
    whole, part = divmod(size, 1)
    spelled = [str(decimal_of(size))]
    if part:
        spelled.append(f"{whole} {part}" if whole else str(part))
        spelled.append(f"{whole}-{part}" if whole else f" {part}")
    for written in spelled:
        assert read_size(written + unit).value == decimal_of(size)


@given(EIGHTHS)
def test_a_size_as_exported_reads_back_to_itself(size: Fraction) -> None:
    exact = decimal_of(size)
    assert read_size(size_text(exact)).value == exact
    assert size_text(Decimal("2.000")) == "2"


@given(st.text(max_size=12))
def test_no_text_at_all_does_anything_but_read_or_refuse(written: str) -> None:
    try:
        value = read_size(written).value
    except UnreadableCellError:
        return
    assert Decimal("0.125") <= value <= 24
