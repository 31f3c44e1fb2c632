"""What a cell may hold, and what is refused with its mend."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.domain.readings import CellError, ReadingName, Unit, Word, read_cell, read_unit


def read(text: str, name: ReadingName = ReadingName.CHECK1) -> object:
    return read_cell(name=name, column="Col", text=text).reading


@pytest.mark.parametrize(
    ("text", "figure"),
    [
        ("2.0", "2.0"),
        (" 2.0 ", "2.0"),
        ("0", "0"),
        (".5", "0.5"),
        ("5.", "5"),
        ("+2.0", "2.0"),
        ("007.10", "7.10"),
        ("200", "200"),
        ("\xa02.0\xa0", "2.0"),
    ],
)
def test_a_plain_figure_is_read_as_written(text: str, figure: str) -> None:
    found = read(text)
    assert isinstance(found, Decimal)
    assert str(found) == figure


def test_a_decimal_comma_is_read_and_warned() -> None:
    cell = read_cell(name=ReadingName.RELIEF, column="RV", text="2,4")
    assert cell.reading == Decimal("2.4")
    assert "RV" in cell.warning
    assert read_cell(name=ReadingName.RELIEF, column="RV", text="2.4").warning == ""


@pytest.mark.parametrize(
    "text",
    [
        "-1",
        "-0.1",
        "200.1",
        "201",
        "nan",
        "NaN",
        "inf",
        "Infinity",
        "1e3",
        "1E1",
        "1_000",
        "\uff12.\uff10",
        "\u0662",
        "\u22122",
        "2.0 psid",
        "1.2.3",
        "1,2,3",
        "1,000.5",
        "#DIV/0!",
        "n/a",
        "-",
        "?",
        "1/2",
        "0x10",
        ">5",
        "9" * 41,
        "1." + "0" * 60,
    ],
)
def test_what_is_no_plain_figure_between_0_and_200_is_refused_with_its_mend(text: str) -> None:
    with pytest.raises(CellError) as caught:
        read(text)
    assert caught.value.column == "Col"
    assert caught.value.value == text
    assert "write the figure" in caught.value.message


@pytest.mark.parametrize(
    ("name", "text", "word"),
    [
        (ReadingName.RELIEF, "Did Not  Open", Word.DID_NOT_OPEN),
        (ReadingName.AIR_INLET, "did not open", Word.DID_NOT_OPEN),
        (ReadingName.BYPASS_RELIEF, "DID NOT OPEN", Word.DID_NOT_OPEN),
        (ReadingName.CHECK, "Leaked", Word.LEAKED),
        (ReadingName.BYPASS_CHECK1, "closed tight", Word.CLOSED_TIGHT),
        (ReadingName.CHECK2_TIGHT, "Y", Word.YES),
        (ReadingName.CHECK2_TIGHT, "n", Word.NO),
        (ReadingName.METER_MOVED, "Yes", Word.YES),
        (ReadingName.AIR_INLET_FULL, "NO", Word.NO),
        (ReadingName.SHUTOFF2_TIGHT, "no flow", Word.NO_FLOW),
        (ReadingName.SHUTOFF2_TIGHT, "no", Word.NO),
    ],
)
def test_each_column_knows_its_words(name: ReadingName, text: str, word: Word) -> None:
    assert read(text, name) is word


@pytest.mark.parametrize(
    ("name", "text"),
    [
        (ReadingName.RELIEF, "leaked"),
        (ReadingName.RELIEF, "closed tight"),
        (ReadingName.CHECK1, "did not open"),
        (ReadingName.CHECK1, "yes"),
        (ReadingName.CHECK2_TIGHT, "no flow"),
        (ReadingName.CHECK2_TIGHT, "1.0"),
        (ReadingName.METER_MOVED, "leaked"),
        (ReadingName.AIR_INLET_FULL, "maybe"),
    ],
)
def test_a_word_of_another_column_is_refused(name: ReadingName, text: str) -> None:
    with pytest.raises(CellError):
        read(text, name)


def test_a_blank_is_not_recorded() -> None:
    for name in ReadingName:
        assert read("", name) is None
        assert read(" \t\xa0", name) is None


def test_the_unit_may_be_psid_psi_kpa_or_blank_and_nothing_else() -> None:
    def unit(text: str) -> Unit:
        return read_unit(column="unit", text=text)

    assert unit("") is Unit.PSID
    assert unit(" PSID ") is Unit.PSID
    assert unit("psi") is Unit.PSI
    assert unit("kpa") is Unit.KPA
    for text in ("bar", "psig", "kPa d", "Pa"):
        with pytest.raises(CellError):
            unit(text)


@given(st.decimals(min_value=0, max_value=200, places=2))
def test_a_written_figure_comes_back_the_same(figure: Decimal) -> None:
    assert read(f"{figure:f}") == figure
    assert read(f"{figure:f}".replace(".", ",")) == figure


@given(st.text(max_size=60))
def test_any_text_is_a_reading_or_a_refusal_and_never_another_error(text: str) -> None:
    for name in ReadingName:
        try:
            found = read(text, name)
        except CellError:
            continue
        if isinstance(found, Decimal):
            assert 0 <= found <= 200


@pytest.mark.parametrize("name", list(ReadingName))
def test_a_step_that_was_not_reached_has_no_reading(name: ReadingName) -> None:
    """Common practice: where check 2 leaks, check 1 cannot be read, and the report says so."""
    assert read_cell(name=name, column="c", text=" Not  reached ").reading is None
