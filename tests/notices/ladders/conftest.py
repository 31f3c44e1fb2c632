"""How closely a case is lived: around the days that matter and weekly between, or every day."""

from __future__ import annotations

import pytest

from tests.notices.ladders.story import Pace


@pytest.fixture(params=["around", pytest.param("every day", marks=pytest.mark.slow)])
def pace(request: pytest.FixtureRequest) -> Pace:
    return Pace(request.param)
