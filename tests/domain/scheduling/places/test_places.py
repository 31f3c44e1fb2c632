"""The rulebooks of places: a part of each law, marked and cited, with what is missing named."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.filling import fill_gap, is_filled, waive_gap
from scheduling.domain.gaps import Part
from scheduling.domain.rulebook import NOT_TRANSCRIBED, VERIFY, Attributes, DaysRule, Mark
from scheduling.domain.rulebook_checks import every_source, faults_of
from scheduling.domain.rulebook_text import RulebookError, read_rulebook
from scheduling.domain.rulebook_toml import write_rulebook
from tests.domain.scheduling.histories import BOOKS, book
from tests.domain.scheduling.places.atlas import DC, PLACES, RP, due, lived, path_of, place

ASKED_FOR = {
    "cross-valley-wa",
    "highland-wa",
    "oregon",
    "oro-valley-az",
    "willcox-az",
    "kansas-city-mo",
    "sacramento-ca",
    "hernando-county-fl",
    "michigan",
    "massachusetts-1988",
    "harker-heights-tx",
    "colorado-calendar-year",
    "toledo-oh",
    "illinois",
    "placer-style",
    "ennis-tx",
    "copper-mountain-co",
    "boulder-co",
    "lincoln-county-nc",
    "carthage-nc",
    "cave-creek-az",
}


def test_the_places_in_print_are_there() -> None:
    assert set(PLACES) == ASKED_FOR


@pytest.mark.parametrize("name", PLACES)
def test_every_rule_has_citation_day_and_mark(name: str) -> None:
    told = list(every_source(place(name)))
    assert told
    for rule, citation, source in told:
        assert citation.endswith(f"[{source.mark.value}]; {VERIFY}"), rule
        assert source.mark in (Mark.READ, Mark.MEMORY), rule
        assert source.transcribed_on in (date(2026, 11, 25), date(2026, 11, 29)), rule
        assert source.number, rule


@pytest.mark.parametrize("name", PLACES)
def test_what_is_missing_is_named_and_nothing_stands_in_its_place(name: str) -> None:
    found = place(name)
    assert found.gaps == tuple(gap.name for gap in found.gap_list)
    parts = {gap.part for gap in found.gap_list}
    assert {Part.METHOD, Part.NO_DATE, Part.TRANSITION, Part.GRACE} <= parts
    assert found.method == ""
    assert bool(found.cures) != (Part.CURE in parts)
    assert found.grace == found.no_date == found.transition == NOT_TRANSCRIBED
    for gap in found.gap_list:
        assert gap.what, gap.name
        assert not is_filled(found, gap), gap.name


@pytest.mark.parametrize("name", [*PLACES, *BOOKS])
def test_what_is_written_reads_back_equal(name: str) -> None:
    found = place(name) if name in PLACES else book(name)
    text = write_rulebook(found)
    assert read_rulebook(text) == found
    assert write_rulebook(read_rulebook(text)) == text


@pytest.mark.parametrize("name", PLACES)
def test_the_file_says_that_it_is_a_part_and_an_example(name: str) -> None:
    head = path_of(name).read_text(encoding="utf-8").splitlines()[0]
    assert "a part of its law" in head
    assert head.endswith("An example: verify against the current text.")


@pytest.mark.parametrize("name", PLACES)
def test_each_gap_is_waived_by_name_and_then_nothing_is_open(name: str) -> None:
    found = place(name)
    for gap in found.gaps:
        found = waive_gap(
            found, name=gap, by="A. Clerk", on=date(2026, 12, 1), reason="decided by the board"
        )
    assert found.gaps == ()
    assert faults_of(found) == []
    assert read_rulebook(write_rulebook(found)) == found


def test_a_waiver_needs_a_person_a_reason_and_a_gap() -> None:
    found, day = place("oregon"), date(2026, 12, 1)
    with pytest.raises(RulebookError, match="named person with a reason"):
        waive_gap(found, name="ladder", by=" ", on=day, reason="x")
    with pytest.raises(RulebookError, match="named person with a reason"):
        waive_gap(found, name="ladder", by="A. Clerk", on=day, reason="")
    with pytest.raises(RulebookError, match="has no gap 'nothing'; there is 'days after"):
        waive_gap(found, name="nothing", by="A. Clerk", on=day, reason="x")
    once = waive_gap(found, name="ladder", by="A. Clerk", on=day, reason="x")
    with pytest.raises(RulebookError, match="is waived already"):
        waive_gap(once, name="ladder", by="A. Clerk", on=day, reason="x")


def test_a_gap_is_filled_only_once_a_rule_stands_there() -> None:
    found = place("oregon")
    with pytest.raises(RulebookError, match="'grace on return' is still open: add the rule"):
        fill_gap(found, name="grace on return")
    grace = DaysRule(id="back in use", days=10, citation="our own rule")
    filled = fill_gap(replace(found, grace=grace), name="grace on return")
    assert "grace on return" not in filled.gaps
    assert len(filled.gaps) == len(found.gaps) - 1


def test_a_gap_of_events_wants_all_its_events() -> None:
    found, events = place("oregon"), book("plain-rolling").events
    name = "days after installation, repair, relocation"
    assert fill_gap(replace(found, events=events), name=name)
    with pytest.raises(RulebookError, match="still open"):
        fill_gap(replace(found, events=events[:2]), name=name)


def test_where_a_cycle_is_missing_replay_names_the_gap() -> None:
    ledger = lived(place("willcox-az"), "passed 2025-03-01", as_of="2026-06-01")
    assert (due(ledger), ledger.gap, ledger.is_exempt) == ("nothing", "how often", True)
    assert ledger.reasons[-1].arithmetic == "the rulebook does not say how often: how often"


def test_where_days_to_cure_are_missing_a_person_is_asked() -> None:
    told = "passed 2025-03-01, failed 2025-06-01"
    ledger = lived(place("oregon"), told, as_of="2025-06-02")
    assert ledger.current is not None
    assert (ledger.current.failed_on, ledger.current.cure_by) == (date(2025, 6, 1), None)
    (asked,) = ledger.questions
    assert "does not say within how many days it is cured" in asked


def test_where_no_date_is_known_and_the_rulebook_is_silent_a_person_is_asked() -> None:
    ledger = lived(place("oregon"), "", as_of="2025-06-02")
    assert due(ledger) == "nothing"
    (asked,) = ledger.questions
    assert asked.endswith("enter the installation or the last pass.")


@pytest.mark.parametrize(
    ("installed", "what", "lacks"),
    [
        ({"RP"}, RP, False),
        ({"DC"}, RP, True),
        ({"DC"}, DC, False),
        ({"PVB"}, DC, True),
        (set(), DC, True),
        ({"DC", "AG"}, replace(RP, hazard=Hazard.NOT_ASSESSED), False),
    ],
)
def test_washingtons_table_12_says_which_service_lacks_protection(
    installed: set[str], what: Attributes, lacks: bool
) -> None:
    # WAC 246-290-490(4)(b), table 12: high: AG, RP, RPDA; low: also DC, DCDA
    types = {AssemblyType(word) for word in installed}
    rule = place("highland-wa").lacks_protection(installed=types, attributes=what)
    assert (rule is not None) == lacks
