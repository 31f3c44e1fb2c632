"""A limits file is read whole or refused with the field to mend."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from reports.domain.limits import Family, Limits, Rule, limit_in
from reports.domain.limits_text import LimitsError, read_limits
from reports.domain.readings import Unit
from tests.domain.reports.cases import limits, part

TEXT = """
name = "ours"
title = "Limits of our own"
unit = "kPa"
effective_on = 2024-03-01
effective_note = "by order"
caution = "verify"

[[criteria]]
family = "DC"
name = "check1"
rule = "at least"
reading = "check1"
limit = 7
required = true
citation = "our rule"
mark = "common practice"
"""


def test_the_figures_of_a_file_are_decimals_and_its_dates_are_dates() -> None:
    read = read_limits(TEXT)
    assert read.effective_on == date(2024, 3, 1)
    assert read.unit is Unit.KPA
    (only,) = read.of(Family.DC)
    assert only.limit == Decimal(7)
    assert only.rule is Rule.AT_LEAST
    assert only.source == "our rule [common practice]"


# Washington Department of Health, transition page: 10th-edition RP criteria apply to all tests
# from 1 January 2012.
def test_the_tenth_edition_applies_from_the_first_of_january_2012() -> None:
    assert limits("usc10").effective_on == date(2012, 1, 1)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("limit = 7", "", "limit"),
        ("limit = 7", "limit = true", "limit"),
        ("limit = 7", "limit = nan", "limit"),
        ("limit = 7", 'limit = 7\nother = "relief"', "other"),
        ('family = "DC"', 'family = "XX"', "family"),
        ('reading = "check1"', 'reading = "check9"', "reading"),
        ("required = true", 'required = "yes"', "required"),
        ('citation = "our rule"', 'citation = " "', "citation"),
        ('mark = "common practice"', "", "mark"),
        ("effective_on = 2024-03-01", "", "effective_on"),
        ('unit = "kPa"', 'unit = "bar"', "unit"),
        ("[[criteria]]", "[criteria]", "criteria"),
        ('name = "ours"', "name = ", "file"),
    ],
)
def test_a_file_with_a_fault_names_the_field(old: str, new: str, field: str) -> None:
    with pytest.raises(LimitsError) as caught:
        read_limits(TEXT.replace(old, new, 1))
    assert caught.value.field == field


def test_limits_in_kpa_are_held_against_kpa_and_convert_nothing() -> None:
    from reports.domain.judging import judge

    ours: Limits = read_limits(TEXT)
    assert limit_in(Unit.KPA, limit=Decimal(7), limits=ours) == 7
    assert judge(ours, part("DC", unit="kPa", check1="7.0")).outcome == "pass"
    assert judge(ours, part("DC", unit="kPa", check1="6.9")).outcome == "fail"
    refused = judge(ours, part("DC", check1="7.0"))
    assert refused.outcome == "refused"
    assert "kPa" in refused.reasons[0]
