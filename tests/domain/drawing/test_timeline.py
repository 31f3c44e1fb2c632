"""The timeline: what happened is solid, what is late is hatched, what is to come is hollow."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from xml.etree import ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from reports.drawing.history import (
    DrawnFact,
    DrawnLetter,
    DrawnObligation,
    DrawnReading,
    DrawnTest,
    History,
)
from reports.drawing.timeline import timeline
from reports.drawing.window import desk_window, phone_window

TODAY = date(2025, 11, 25)
OVERDUE = DrawnObligation(opens_on=date(2025, 7, 6), due_on=date(2025, 9, 4))
MET = DrawnObligation(
    opens_on=date(2024, 7, 11),
    due_on=date(2024, 9, 11),
    closed_on=date(2024, 9, 9),
    closed_how="met",
)
LIMIT = DrawnReading(
    name="relief valve opened at", unit="psid", limit=Decimal("2.0"), limit_words="limit: 2.0"
)


def drawn(history: History) -> ET.Element:
    return ET.fromstring(timeline(history, today=TODAY, window=desk_window(TODAY)))


def with_class(drawing: ET.Element, name: str) -> list[ET.Element]:
    return [one for one in drawing.iter() if name in one.get("class", "").split()]


def test_an_obligation_past_its_day_is_hatched_from_the_due_day_to_today() -> None:
    window = desk_window(TODAY)
    (band,) = with_class(drawn(History(obligations=(OVERDUE,))), "hatched")
    start = float(band.get("x", "0"))
    end = start + float(band.get("width", "0"))
    assert abs(start - window.x(date(2025, 9, 4))) < 0.1
    assert abs(end - window.x(TODAY)) < 0.2


def test_one_met_in_time_is_not_hatched_and_ends_in_a_solid_dot() -> None:
    drawing = drawn(History(obligations=(MET,)))
    assert with_class(drawing, "hatched") == []
    (dot,) = [one for one in with_class(drawing, "solid") if one.tag == "circle"]
    assert abs(float(dot.get("cx", "0")) - desk_window(TODAY).x(date(2024, 9, 9))) < 0.1


def test_readings_stand_on_a_true_scale_with_the_limit_between_them() -> None:
    tests = tuple(
        DrawnTest(on=date(2024, month, 9), passed=reading >= 2, reading=Decimal(str(reading)))
        for month, reading in ((3, 2.5), (9, 1.7))
    )
    drawing = drawn(History(tests=tests, reading=LIMIT))
    (passed,) = [one for one in with_class(drawing, "solid") if one.tag == "circle"]
    (limit,) = with_class(drawing, "dashed")
    (failed,) = with_class(drawing, "w3")
    heights = [
        float(passed.get("cy", "0")),
        float(re.findall(r"[\d.]+", limit.get("d", ""))[1]),
        float(re.findall(r"[\d.]+", failed.get("d", ""))[1]) + 5,
    ]
    above, on, below = heights
    assert above < on < below
    # 2.5 stands 0.5 above the limit, 1.7 stands 0.3 below it
    assert abs((on - above) / (below - on) - 0.5 / 0.3) < 0.02


def test_a_letter_climbs_with_its_rung_and_a_prepared_one_is_hollow() -> None:
    first = DrawnLetter(on=date(2025, 9, 5), rung=3, figure="3", is_grave=True)
    order = DrawnLetter(on=date(2025, 10, 24), rung=6, figure="6", is_grave=True, is_prepared=True)
    drawing = drawn(History(letters=(first, order)))
    (sent,) = [one for one in with_class(drawing, "solid-red") if one.tag == "rect"]
    (prepared,) = with_class(drawing, "hollow-red")
    assert float(sent.get("y", "0")) - float(prepared.get("y", "0")) == 3 * 13


def test_a_withdrawn_fact_is_struck_through() -> None:
    fact = DrawnFact(on=date(2024, 10, 9), words="passed", is_withdrawn=True)
    (words,) = with_class(drawn(History(facts=(fact,))), "withdrawn")
    assert words.text == "passed"


def test_days_before_the_window_are_left_to_the_tables() -> None:
    old = DrawnTest(on=date(2001, 1, 1), passed=True, reading=Decimal("2.5"))
    drawing = drawn(History(tests=(old,), facts=(DrawnFact(on=date(2001, 1, 1), words="old"),)))
    assert [one.text for one in drawing.iter() if one.text == "old"] == []
    assert [one for one in drawing.iter() if one.tag == "circle"] == []


DAYS = st.dates(min_value=date(2015, 1, 1), max_value=date(2027, 12, 31))
HISTORIES = st.builds(
    History,
    obligations=st.lists(
        st.builds(
            DrawnObligation,
            opens_on=DAYS,
            due_on=DAYS,
            closed_on=st.none() | DAYS,
            closed_how=st.sampled_from(["met", "missed", "excused"]),
        ),
        max_size=5,
    ).map(tuple),
    tests=st.lists(
        st.builds(
            DrawnTest,
            on=DAYS,
            passed=st.booleans(),
            reading=st.none() | st.decimals(min_value=0, max_value=200, places=1),
        ),
        max_size=6,
    ).map(tuple),
    facts=st.lists(st.builds(DrawnFact, on=DAYS, words=st.text(max_size=40)), max_size=5).map(
        tuple
    ),
    reading=st.none() | st.just(LIMIT),
    says=st.text(alphabet=st.characters(categories=["L", "P", "Zs"]), max_size=40),
)


@given(history=HISTORIES)
def test_any_history_gives_well_formed_svg_without_style_or_script(history: History) -> None:
    for window in (desk_window(TODAY), phone_window(TODAY)):
        markup = timeline(history, today=TODAY, window=window)
        drawing = ET.fromstring(markup)
        assert drawing.get("role") == "img"
        assert not [one for one in drawing.iter() if one.tag in {"script", "style"}]
        assert not [one for one in drawing.iter() if "style" in one.attrib]
