"""The contrast of an office's colour, held against published values."""

from __future__ import annotations

import pytest

from notices.domain.colours import contrast, read_colour, why_too_pale


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),  # WCAG 2.2, definition of contrast ratio: 1 to 21
        ("#777777", "#ffffff", 4.48),  # the usual example of a grey that just fails on white
        ("#767676", "#ffffff", 4.54),  # and of the lightest that passes
        ("#ff0000", "#ffffff", 4.00),  # pure red: (1 + .05) / (.2126 + .05), worked by hand
    ],
)
def test_contrast_is_that_of_the_standard(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)
    assert contrast(other, one) == contrast(one, other)


def test_a_pale_colour_is_refused_with_its_figure() -> None:
    told = why_too_pale("#777777")
    assert "4.47 on white" in told or "4.48 on white" in told
    assert "4.5" in told
    assert why_too_pale("#0a5a84") == ""


def test_a_colour_that_passes_on_white_only_is_refused_for_our_pages() -> None:
    assert contrast("#767676", "#ffffff") > 4.5
    assert "a picked row" in why_too_pale("#767676")


@pytest.mark.parametrize("text", ["", "red", "#12345", "#1234567", "#12345g", "url(x)"])
def test_what_is_no_colour_is_not_read(text: str) -> None:
    assert read_colour(text) == ""


def test_a_colour_is_read_with_or_without_its_mark() -> None:
    assert read_colour(" 0A5A84 ") == read_colour("#0a5a84") == "#0a5a84"
