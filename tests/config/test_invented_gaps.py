"""What the demo's administrator fills in is named as invented where a letter cites it."""

from __future__ import annotations

import tomllib

import pytest

from config.demo.invented import INVENTED, filled_text
from config.demo.invented_ladders import LADDERS
from notices.domain.wording import short_citation

PLACES = sorted(name for name in LADDERS if name)


@pytest.mark.parametrize("place", PLACES)
def test_a_letter_cites_a_rung_whole_and_says_what_was_invented(place: str) -> None:
    rungs = tomllib.loads(filled_text(place))["rung"]
    for rung in rungs:
        named = short_citation(rung["citation"])
        assert named.count("(") == named.count(")"), named
    days = LADDERS[place].days
    dated = [short_citation(rung["citation"]) for rung in rungs if rung["key"] in days]
    assert len(dated) == len(days)
    assert all(INVENTED[1:] in named for named in dated), dated
