"""A program's own limits: copied, changed with their citation, in force from a day, then kept."""

from __future__ import annotations

import hashlib
from datetime import date

import pytest

from registry.changes import Hand
from registry.models import Program
from reports.actions.own_methods import OwnMethodError, keep_own_method, used_by
from reports.models import FieldTest, OwnMethod
from reports.queries.methods import limits_in, method_text
from reports.queries.other_methods import by_every_method
from scheduling.models import Adoption, Rulebook
from scheduling.queries.shipped import shipped_text
from tests.reports.conftest import AS_OF, MORNING, Load

HAND = Hand(by="clerk", at=MORNING)


def own_text(name: str = "district-kpa", *, unit: str = "kPa", **limits: str) -> str:
    """A copy of usc10 in another unit, with limits of its own."""
    text = method_text("usc10").replace('name = "usc10"', f'name = "{name}"', 1)
    text = text.replace('unit = "psi"', f'unit = "{unit}"', 1)
    for was, now in limits.items():
        text = text.replace(f"limit = {was.strip('_').replace('_', '.')}", f"limit = {now}")
    return text


def kept(program: Program, text: str) -> OwnMethod:
    return keep_own_method(program=program, method=None, copied_from="usc10", text=text, hand=HAND)


def judged_by(program: Program, method: str, *, on: date) -> None:
    text = shipped_text("plain-rolling").replace('name = "usc10"', f'name = "{method}"')
    book = Rulebook.objects.create(
        name=f"by-{method}", program=program, title="Another method", text=text, loaded_at=MORNING,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )  # fmt: skip
    Adoption.objects.create(program=program, rulebook=book, effective_on=on, recorded_at=MORNING)


# From memory, rounded up: CSA's 14 kPa for the relief valve. A program's own limits in kPa hold a
# reading in kPa as they stand; psi's 2.0 would be 13.789514 kPa.
def test_own_limits_in_kpa_are_held_without_converting_and_refuse_psi(
    program: Program, load: Load
) -> None:
    kept(program, own_text(_2_0="14", _5_0="35"))
    limits = limits_in(program, name="district-kpa")
    assert {str(one.limit) for one in limits.of(limits.criteria[0].family)} >= {"14", "35"}
    good = {"Unit": "kPa", "Initial RV": "14", "Initial CK1": "35"}
    _, answer, _ = load(good, {**good, "Initial RV": "13.8"}, {"Initial RV": "2.6"},
                        method="district-kpa")  # fmt: skip
    assert [one["outcome"] for one in answer["results"]] == ["pass", "fail", "refused"]
    assert "record the readings in kPa" in answer["results"][2]["reasons"][0]


# 5.0 - 2.4 = 2.6 fails the 9th edition's buffer of 3.0 and passes the 10th (USC Foundation "Cross
# Talk", April 1996; Washington DOH transition page: limits are versioned by date).
def test_a_change_of_method_judges_the_tests_from_its_day_and_no_earlier(
    program: Program, load: Load
) -> None:
    judged_by(program, "usc9", on=date(2026, 11, 10))
    cells = {"Initial RV": "2.4", "Initial CK1": "5.0"}
    _, answer, _ = load({**cells, "Test Date": "2026-11-09"}, {**cells, "Test Date": "2026-11-10"})
    assert [one["outcome"] for one in answer["results"]] == ["pass", "fail"]
    methods = FieldTest.objects.order_by("tested_on").values_list("method", flat=True)
    assert list(methods) == ["usc10", "usc9"]


def test_one_report_can_be_asked_about_under_every_method(program: Program, load: Load) -> None:
    load({"Initial RV": "2.4", "Initial CK1": "5.0"})
    test = FieldTest.objects.select_related("assembly", "batch", "program").get()
    told = {one.limits.name: one.outcome for one in by_every_method(test, today=AS_OF)}
    assert (told["usc10"], told["usc9"], told["epa"], told["toronto"]) == (
        "pass", "fail", "pass", "fail",
    )  # fmt: skip
    assert by_every_method(test, today=AS_OF)[0].is_the_one


def test_limits_that_a_test_or_a_rulebook_rests_on_are_changed_no_more(
    program: Program, load: Load
) -> None:
    own = kept(program, own_text("mine", unit="psi"))
    assert used_by(own) == ""
    changed = own_text("mine", unit="psi", _5_0="6.0")
    keep_own_method(program=program, method=own, copied_from="usc10", text=changed, hand=HAND)
    judged_by(program, "mine", on=date(2026, 11, 1))
    with pytest.raises(OwnMethodError, match="rulebook"):
        keep_own_method(program=program, method=own, copied_from="usc10", text=changed, hand=HAND)
    load({"Initial CK1": "5.5"})
    assert FieldTest.objects.get().outcome == "fail"
    with pytest.raises(OwnMethodError, match="Tests were judged"):
        keep_own_method(program=program, method=own, copied_from="usc10", text=changed, hand=HAND)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (method_text("usc10"), "is a method that ships"),
        (own_text("My Method"), "small letters"),
        (own_text().replace("citation", "cite"), "citation"),
        ("name = ", "no TOML"),
    ],
)
def test_limits_without_a_name_of_their_own_or_a_citation_are_refused(
    program: Program, text: str, says: str
) -> None:
    with pytest.raises(OwnMethodError, match=says):
        kept(program, text)
    assert not OwnMethod.objects.exists()


def test_a_name_is_taken_once_in_a_program(program: Program) -> None:
    kept(program, own_text())
    with pytest.raises(OwnMethodError, match="already"):
        kept(program, own_text())
