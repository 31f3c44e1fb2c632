"""Every rule of every rulebook reads as one sentence, in one order, its values set apart."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from registry.domain.kinds import AssemblyType, Hazard, ServiceKind
from scheduling.domain.catching import rules_for
from scheduling.domain.cycles import parse_cycle
from scheduling.domain.facts import FactKind, Hindrance
from scheduling.domain.matching import Attributes, Match
from scheduling.domain.rulebook import (
    CountsAs,
    CycleRule,
    HindranceRule,
    ProtectionRule,
    Provision,
    RatioRule,
    Regime,
    RepeatRule,
    ReportRule,
    Rulebook,
    Source,
    Topic,
)
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.sentences import ladder_sentences, rule_sentences
from scheduling.domain.sources import Mark

FOLDER = Path(__file__).parents[3] / "fixtures" / "rulebooks"
FILES = sorted(FOLDER.rglob("*.toml"))


def rolling() -> Rulebook:
    return read_rulebook((FOLDER / "plain-rolling.toml").read_text(encoding="utf-8"))


def sentences(book: Rulebook) -> dict[str, str]:
    return {one.name: one.text for one in (*rule_sentences(book), *ladder_sentences(book))}


def test_the_rolling_rulebook_reads_as_its_rules_say() -> None:
    told = sentences(rolling())
    assert told["half-yearly"] == (
        "An RP, RPDA or RPDA-II that protects against a high hazard is tested within 6 months"
        " of its last passing test. It opens 60 days before."
    )
    assert told["yearly"].startswith("Every other assembly is tested within 1 year of its last")
    assert told["after repair"] == "An assembly that was repaired is tested within 10 days."
    assert told["reminder"] == (
        "45 days before the day due, the reminder is owed. If it is late it is skipped."
    )
    assert told["shutoff-order"] == (
        "At least 10 days after the final left, the shutoff order is prepared."
        " Only a person signs it."
    )


def test_values_stand_apart_from_the_words_around_them() -> None:
    half = next(one for one in rule_sentences(rolling()) if one.name == "half-yearly")
    values = [words for words, is_value in half.parts if is_value]
    assert values == ["RP", "RPDA", "RPDA-II", "high", "6 months", "60 days"]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_rule_that_ships_has_one_sentence(file: Path) -> None:
    book = read_rulebook(file.read_text(encoding="utf-8"))
    found = rule_sentences(book)
    lists = {
        "exempt": book.exempt, "cycle": book.cycles, "event": book.events, "cure": book.cures,
        "repeat": book.repeats, "report": book.reports, "hindrance": book.hindrances,
        "protection": book.protections, "ratio": book.ratios, "provision": book.provisions,
    }  # fmt: skip
    for part, rules in lists.items():
        places = [one.place for one in found if one.part == part]
        assert places == list(range(len(rules))), part
    assert len(ladder_sentences(book)) == len(book.ladder.rungs)
    assert [one.number for one in found] == list(range(1, len(found) + 1))
    for one in (*found, *ladder_sentences(book)):
        assert one.text.endswith((".", "!", "?")), one.text
        assert "  " not in one.text, one.text
        assert one.citation, one.text


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_order_is_the_same_every_time(file: Path) -> None:
    book = read_rulebook(file.read_text(encoding="utf-8"))
    assert rule_sentences(book) == rule_sentences(read_rulebook(file.read_text(encoding="utf-8")))


def test_the_kinds_of_rule_no_teaching_rulebook_has_read_well() -> None:
    rp = Match(types=frozenset({AssemblyType.RP}))
    book = replace(
        rolling(),
        repeats=(RepeatRule(id="again", citation="c", failures=2, of_last=3,
                            every=parse_cycle("FREQ=MONTHLY;INTERVAL=6")),),
        reports=(ReportRule(id="soon", citation="c", days=2, is_working=True,
                            about=frozenset({FactKind.FAILED})),),
        hindrances=(HindranceRule(id="wet", citation="c", counts_as=CountsAs.FAILED,
                                  hindrances=frozenset({Hindrance.SUBMERGED})),),
        protections=(ProtectionRule(id="guard", citation="c", match=replace(rp, types=frozenset(),
                     hazards=frozenset({Hazard.HIGH})), allowed=frozenset({AssemblyType.RP})),),
        ratios=(RatioRule(id="share", citation="c", share=Decimal("0.90"), chase_days=60),),
        provisions=(Provision(id="hear", citation="c", topic=Topic.HEARING,
                              words="A hearing may be asked for", days=10, is_working=True),),
    )  # fmt: skip
    told = sentences(book)
    assert told["again"] == (
        "An assembly that failed in 2 of its last 3 rounds is tested again within 6 months of a"
        " pass, until fewer fail."
    )
    assert told["soon"] == "The report of a test that failed is in within 2 working days."
    assert told["wet"] == (
        "An assembly that could not be tested because of submerged counts as a failed test."
    )
    assert told["guard"] == (
        "A service connection with a high hazard is protected by RP; with none of them it lacks"
        " protection."
    )
    assert told["share"] == (
        "At least 90 % of the assemblies are tested in a calendar year."
        " The rest is pursued for 60 days after it."
    )
    assert told["hear"] == "Hearing: A hearing may be asked for. Days: 10 working days."


def test_an_anniversary_with_a_cap_and_a_month_end_says_so() -> None:
    rule = CycleRule(
        id="x", citation="c", regime=Regime.ANNIVERSARY, cycle=parse_cycle("FREQ=YEARLY"),
        opens_days=45, early_days=45, late_days=45, cap=parse_cycle("FREQ=MONTHLY;INTERVAL=12"),
        month_end=True,
    )  # fmt: skip
    told = sentences(replace(rolling(), cycles=(rule,)))["x"]
    assert told == (
        "Every assembly is tested every year, on the anniversary of its installation, at the"
        " latest 45 days after it. It opens 45 days before. A pass from 45 days before the day on"
        " keeps the anniversary. Never later than 12 months after the last pass. It is due on"
        " the last day of that month."
    )


def test_a_mark_and_the_day_transcribed_stand_with_the_sentence() -> None:
    source = Source(number="7", transcribed_on=date(2026, 11, 25), mark=Mark.MEMORY)
    exempt = replace(rolling().exempt[0], source=source)
    one = rule_sentences(replace(rolling(), exempt=(exempt,)))[0]
    assert (one.mark, one.transcribed_on, one.rule_number) == (
        "from memory", date(2026, 11, 25), "7",
    )  # fmt: skip


def test_only_the_first_rule_that_fits_decides() -> None:
    high_rp = Attributes(type=AssemblyType.RP, hazard=Hazard.HIGH, service=ServiceKind.DOMESTIC)
    assert {("cycle", 0), ("cure", 0)} < rules_for(rulebook=rolling(), attributes=high_rp)
    assert ("cycle", 1) not in rules_for(rulebook=rolling(), attributes=high_rp)
    gap = replace(high_rp, type=AssemblyType.AG)
    assert rules_for(rulebook=rolling(), attributes=gap) == {("exempt", 0)}
