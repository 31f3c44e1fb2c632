"""Which uses count as a residence; whatever is doubtful is treated as the stricter."""

from __future__ import annotations

import pytest

from scheduling.domain.dwellings import is_residence


@pytest.mark.parametrize(
    ("use", "expected"),
    [
        ("Residence", True),
        ("RESIDENTIAL", True),
        ("Single-family home", True),
        ("Apartment building", False),
        ("nursing home", False),
        ("Non-residential", False),
        ("Car wash", False),
        ("", None),
        (" - ", None),
    ],
)
def test_a_use_is_a_residence_a_business_or_unknown(use: str, expected: bool | None) -> None:
    assert is_residence(use) is expected
