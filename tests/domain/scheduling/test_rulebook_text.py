"""The teaching rulebooks hold exactly their rules, and a slip in one is told by rule and mend."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

import pytest

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.facts import FactKind
from scheduling.domain.rulebook import Attributes, CycleRule, Match, MonthDay, Regime, Rulebook
from scheduling.domain.rulebook_text import RulebookError, read_rulebook
from tests.domain.scheduling.histories import BOOKS, book, text_of


def cycle_for(name: str, type_: AssemblyType, hazard: Hazard) -> CycleRule | None:
    what = Attributes(type=type_, hazard=hazard)
    return book(name).cycle_rule(kind="test", attributes=what)


def citations(value: Any) -> list[str]:
    """Every citation found anywhere inside a rulebook."""
    found: list[str] = []
    if is_dataclass(value):
        for each in fields(value):
            inner = getattr(value, each.name)
            found += [inner] if each.name.endswith("citation") else citations(inner)
    elif isinstance(value, tuple):
        for inner in value:
            found += citations(inner)
    return found


@pytest.mark.parametrize("name", BOOKS)
def test_every_rule_cites_its_rulebook_as_an_example(name: str) -> None:
    said = citations(book(name))
    assert len(said) >= 20
    for citation in said:
        assert citation.startswith(f"Teaching rulebook {name}, rule ")
        assert "verify against local code" in citation


@pytest.mark.parametrize("name", BOOKS)
def test_all_three_share_events_days_ladder_and_method(name: str) -> None:
    rulebook = book(name)
    assert {rule.event: rule.days for rule in rulebook.events} == {
        FactKind.INSTALLED: 10,
        FactKind.REPAIRED: 10,
        FactKind.RELOCATED: 10,
    }
    days = (rulebook.grace.days, rulebook.no_date.days, rulebook.transition.days)
    assert days == (10, 30, 30)
    assert rulebook.method == "usc10"
    assert rulebook.ladder.rungs[0].key == "test-owed"
    ladder = [
        (r.key, r.offset_days, r.after, r.gap_days, r.is_skippable, r.needs_release, r.channel)
        for r in rulebook.ladder.rungs[1:]
    ]
    assert ladder == [
        ("reminder", -45, None, 0, True, False, "mail"),
        ("second-reminder", -15, None, 0, True, False, "mail"),
        ("repair", 0, None, 0, False, False, "mail"),
        ("first-overdue", 1, None, 0, False, False, "mail"),
        ("second-overdue", 1, "first-overdue", 14, False, False, "mail"),
        ("final", 1, "second-overdue", 15, False, False, "certified"),
        ("shutoff-order", 1, "final", 10, False, True, "mail"),
    ]


@pytest.mark.parametrize("name", BOOKS)
@pytest.mark.parametrize(
    ("hazard", "days"), [(Hazard.HIGH, 7), (Hazard.NOT_ASSESSED, 7), (Hazard.LOW, 21)]
)
def test_days_to_cure_follow_the_hazard(name: str, hazard: Hazard, days: int) -> None:
    what = Attributes(type=AssemblyType.DC, hazard=hazard)
    assert book(name).cure_rule(what).days == days


@pytest.mark.parametrize("name", BOOKS)
@pytest.mark.parametrize("type_", [AssemblyType.AG, AssemblyType.AVB])
def test_an_air_gap_and_an_atmospheric_breaker_are_exempt(name: str, type_: AssemblyType) -> None:
    assert cycle_for(name, type_, Hazard.HIGH) is None


@pytest.mark.parametrize(
    ("type_", "hazard", "months"),
    [
        (AssemblyType.RP, Hazard.HIGH, 6),
        (AssemblyType.RPDA, Hazard.HIGH, 6),
        (AssemblyType.RPDA_II, Hazard.NOT_ASSESSED, 6),
        (AssemblyType.RP, Hazard.LOW, 12),
        (AssemblyType.DC, Hazard.HIGH, 12),
        (AssemblyType.DCDA, Hazard.LOW, 12),
        (AssemblyType.PVB, Hazard.HIGH, 12),
        (AssemblyType.SVB, Hazard.LOW, 12),
    ],
)
def test_plain_rolling_is_yearly_but_for_an_rp_on_high_hazard(
    type_: AssemblyType, hazard: Hazard, months: int
) -> None:
    rule = cycle_for("plain-rolling", type_, hazard)
    assert rule is not None
    assert (rule.regime, rule.cycle.months, rule.opens_days) == (Regime.ROLLING, months, 60)


def test_plain_anniversary_opens_with_its_window() -> None:
    rule = cycle_for("plain-anniversary", AssemblyType.RP, Hazard.HIGH)
    assert rule is not None
    assert (rule.regime, rule.cycle.months) == (Regime.ANNIVERSARY, 12)
    assert (rule.opens_days, rule.early_days, rule.cap) == (45, 45, None)


def test_plain_season_is_due_31_may() -> None:
    rule = cycle_for("plain-season", AssemblyType.RP, Hazard.HIGH)
    assert rule is not None
    assert (rule.regime, rule.cycle.bymonth, rule.cycle.bymonthday) == (Regime.SEASON, (5,), (31,))
    assert (rule.season_opens, rule.credit_from) == (MonthDay(3, 1), MonthDay(10, 1))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('name = "plain-rolling"', "name = ", "no TOML"),
        ('title = "Plain', 'titel = "Plain', "title is missing"),
        ("opens_days = 60", "opens_days = -60", r"half-yearly: opens_days = -60 runs backwards"),
        ("opens_days = 60", 'opens_days = "60"', "opens_days must be a whole number"),
        ("opens_days = 60", "opens_days = 60\nopen_days = 1", "open_days is not known here"),
        ("FREQ=YEARLY", "FREQ=HOURLY", r"yearly: every: FREQ is HOURLY"),
        ("FREQ=YEARLY", "FREQ=YEARLY;COUNT=3", "a cycle goes on"),
        ('regime = "rolling"', 'regime = "rotating"', "use one of rolling, anniversary, season"),
        ('types = ["RP", "RPDA", "RPDA-II"]', 'types = ["RPZ"]', r"types = 'RPZ' is not known"),
        ('event = "repaired"', 'event = "passed"', "asks for no test"),
        ('id = "after relocation"', 'id = "after repair"', "2 rules are called 'after repair'"),
        ("[grace]", "[graces]", r"\[grace\] is missing"),
        ('types = ["AG", "AVB"]', 'types = ["AG"]', r""),
        ('after = "second-overdue"', 'after = "third"', "does not stand before it"),
        ("offset_days = -15", "offset_days = -50", "'second-reminder' runs backwards"),
        ('key = "final"', 'key = "repair"', "'repair' stands twice"),
        ("is_order = true", "is_order = true\nis_skippable = true", "is a courtesy"),
        ('met_by = ["test"]', "met_by = []", "Nothing meets kind 'test'"),
        ('id = "cure"\ndays = 21\n', 'id = "cure"\n', "cure: days must be a whole number"),
    ],
)
def test_a_slip_is_told_by_rule_and_mend(old: str, new: str, told: str) -> None:
    text = text_of("plain-rolling")
    assert old in text
    if not told:
        assert isinstance(read_rulebook(text.replace(old, new)), Rulebook)  # the cycle catches it
        return
    with pytest.raises(RulebookError, match=told):
        read_rulebook(text.replace(old, new))


def test_a_subject_without_a_rule_is_named() -> None:
    text = text_of("plain-season").replace(
        'regime = "season"', 'regime = "season"\ntypes = ["RP"]\nhazards = ["high"]'
    )
    with pytest.raises(RulebookError, match="have no cycle, the first a RP on low hazard"):
        read_rulebook(text)


def test_a_season_needs_one_day_a_year() -> None:
    text = text_of("plain-season").replace("BYMONTH=5;", "BYMONTH=5,6;")
    with pytest.raises(RulebookError, match="needs one day a year"):
        read_rulebook(text)


@pytest.mark.parametrize("day", ["3/1", "13-01", "03-32", "march"])
def test_a_day_of_the_year_is_month_and_day(day: str) -> None:
    text = text_of("plain-season").replace('season_opens = "03-01"', f'season_opens = "{day}"')
    with pytest.raises(RulebookError, match="no day of a year"):
        read_rulebook(text)


def test_a_match_that_asks_nothing_catches_everything() -> None:
    assert Match().catches(Attributes(type=AssemblyType.AG))
    only = Match(hazards=frozenset({Hazard.HIGH}))
    assert only.catches(Attributes(type=AssemblyType.RP))  # not assessed: treated as high
    assert not only.catches(Attributes(type=AssemblyType.RP, hazard=Hazard.LOW))
