"""How often, place by place: each row of the published rules, its dates worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from registry.domain.kinds import AssemblyType, Hazard, ServiceKind
from scheduling.domain.facts import FactKind
from scheduling.domain.filling import is_filled
from scheduling.domain.gaps import Part
from scheduling.domain.rulebook import Attributes
from scheduling.domain.standing import Standing, standing
from scheduling.domain.timeline import RulebookFrom
from tests.domain.scheduling.histories import book as book_named
from tests.domain.scheduling.histories import facts, walked
from tests.domain.scheduling.places.atlas import (
    DC,
    HOME,
    NO_LADDER,
    PVB,
    RP,
    TEST_KIND,
    YEARLY,
    due,
    due_of,
    lived,
    place,
    rules,
)


def test_washington_after_installation_repair_relocation_and_incident_and_annually() -> None:
    # WAC 246-290-490(7). The days after an event are not in the text at hand: a gap names
    # them, and here a test's own 5 days stand in the place of that gap.
    book = place("cross-valley-wa")
    gap = next(each for each in book.gap_list if each.part is Part.EVENT)
    assert gap.events == {
        FactKind.INSTALLED, FactKind.REPAIRED, FactKind.RELOCATED, FactKind.INCIDENT,
    }  # fmt: skip
    mine = "".join(
        f'[[event]]\nid = "{event}"\nevent = "{event}"\ndays = 5\n'
        f'citation = "WAC 246-290-490(7), days invented"\n\n'
        for event in sorted(gap.events)
    )
    filled = rules(TEST_KIND + "\n" + YEARLY + "\n" + mine + NO_LADDER)
    assert is_filled(replace(book, events=filled.events), gap)
    for event in ("repaired", "relocated", "incident"):
        told = f"installed 2025-03-03, passed 2025-03-04, {event} 2025-06-10"
        assert due(lived(filled, told, as_of="2025-06-10")) == "2025-06-15", event
    told = "installed 2025-03-03"
    assert due(lived(filled, told, as_of="2025-03-03")) == "2025-03-08"
    assert due(lived(filled, told + ", passed 2025-03-04", as_of="2025-03-05")) == "2026-03-04"


def test_washington_more_often_after_repeat_failures() -> None:
    # WAC 246-290-490(7): more often for repeat failures; 2 of the last 3 and six months are
    # invented, for the text gives no figures.
    repeat = (
        '[[repeat]]\nid = "again"\nfailures = 2\nof_last = 3\nevery = "FREQ=MONTHLY;INTERVAL=6"\n'
        'citation = "WAC 246-290-490(7), figures invented"\n\n'
    )
    book = rules(TEST_KIND + "\n" + YEARLY + "\n" + repeat + NO_LADDER)
    once = "passed 2021-05-03, failed 2022-05-02, passed 2022-05-09"
    assert due(lived(book, once, as_of="2022-06-01")) == "2023-05-09"
    twice = once + ", failed 2023-05-08, passed 2023-05-15"
    assert due(lived(book, twice, as_of="2023-06-01")) == "2023-11-15"  # 15 May + 6 months
    # Rounds: fine, failed, failed, fine, fine. Of the last three one failed: yearly again.
    better = twice + ", passed 2023-11-10, passed 2024-05-10"
    assert due(lived(book, better, as_of="2024-06-01")) == "2025-05-10"


def test_washington_an_avb_on_irrigation_is_inspected_not_tested() -> None:
    # WAC 246-290-490(7); how often is a gap
    avb = Attributes(type=AssemblyType.AVB, service=ServiceKind.IRRIGATION)
    ledger = lived(place("cross-valley-wa"), "installed 2025-05-01", as_of="2025-06-01", what=avb)
    assert standing(ledger, date(2025, 6, 1)) is Standing.EXEMPT
    assert "inspection" in ledger.kinds
    gap = place("cross-valley-wa").cycle_gap(kind="inspection", attributes=avb)
    assert gap is not None
    assert gap.name == "how often an irrigation AVB is inspected"


def test_oregon_at_least_every_12_months() -> None:
    # OAR 333-061-0070: at least every 12 months; a year from 29 February is 28 February
    told = "installed 2024-02-20, passed 2024-02-29"
    assert due(lived(place("oregon"), told, as_of="2024-06-01")) == "2025-02-28"


def test_oregon_after_installation_repair_and_relocation_by_named_gaps() -> None:
    # OAR 333-061-0070: at installation, repair, relocation; within how many days, and how much
    # more often after failures or on a health hazard, is not in the text at hand
    gaps = {gap.part: gap for gap in place("oregon").gap_list}
    assert gaps[Part.EVENT].events == {
        FactKind.INSTALLED, FactKind.REPAIRED, FactKind.RELOCATED,
    }  # fmt: skip
    assert "health hazard" in gaps[Part.REPEAT].what
    assert place("oregon").events == ()


def test_texas_health_hazards_annually_others_not_by_the_state() -> None:
    # 30 TAC 290.44(h)(4)
    exempt = (
        '[[exempt]]\nid = "low"\nhazards = ["low"]\n'
        'citation = "30 TAC 290.44(h)(4): others are not required annually by the state"\n\n'
    )
    book = rules(TEST_KIND + "\n" + exempt + YEARLY + "\n" + NO_LADDER)
    assert due(lived(book, "passed 2025-07-31", as_of="2025-08-01", what=RP)) == "2026-07-31"
    low = lived(book, "passed 2025-07-31", as_of="2025-08-01", what=DC)
    assert standing(low, date(2025, 8, 1)) is Standing.EXEMPT


def test_san_marcos_high_hazard_annually_low_hazard_every_three_years() -> None:
    # San Marcos TX, city FAQ
    low = (
        '[[cycle]]\nid = "low"\nregime = "rolling"\nhazards = ["low"]\nopens_days = 30\n'
        'every = "FREQ=YEARLY;INTERVAL=3"\ncitation = "San Marcos TX: low hazard every 3 years"\n\n'
    )
    book = rules(TEST_KIND + "\n" + low + YEARLY + "\n" + NO_LADDER)
    told = "passed 2024-02-29"
    assert due(lived(book, told, as_of="2024-03-01", what=RP)) == "2025-02-28"
    assert due(lived(book, told, as_of="2024-03-01", what=DC)) == "2027-02-28"
    not_assessed = replace(DC, hazard=Hazard.NOT_ASSESSED)
    assert due(lived(book, told, as_of="2024-03-01", what=not_assessed)) == "2025-02-28"


def test_harker_heights_chemical_free_residential_irrigation_every_three_years() -> None:
    # Ord. 2019-22
    book, told = place("harker-heights-tx"), "passed 2024-04-30"
    assert due(lived(book, told, as_of="2024-06-01", what=HOME)) == "2027-04-30"
    for other in (
        replace(HOME, has_chemicals=True),
        replace(HOME, has_chemicals=None),  # nobody recorded it: the stricter
        replace(HOME, is_residential=None),
        replace(HOME, service=ServiceKind.DOMESTIC),
    ):
        assert due(lived(book, told, as_of="2024-06-01", what=other)) == "2025-04-30"


def test_harker_heights_before_reoccupancy_after_a_year_vacant() -> None:
    # Ord. 2019-22: vacant from 15 January 2024, so longer than a year from 16 January 2025 on
    book = place("harker-heights-tx")
    told = "passed 2023-12-01, idled 2024-01-15, reoccupied"
    longer = lived(book, f"{told} 2025-01-16", as_of="2025-01-16")
    assert due(longer) == "2024-12-01"  # overdue already, which is earlier than that day
    fresh = "passed 2024-01-10, idled 2024-01-15, reoccupied"
    book = replace(book, cycles=(replace(book.cycles[0], match=book.cycles[1].match),))
    assert due(lived(book, f"{fresh} 2025-01-16", as_of="2025-01-16")) == "2025-01-16"
    assert due(lived(book, f"{fresh} 2025-01-15", as_of="2025-01-15")) == "2027-01-10"


def test_florida_residential_every_two_years_others_annually_reclaimed_twice_a_year() -> None:
    # 62-555.360 (2014)
    book, told = place("hernando-county-fl"), "passed 2024-08-31"
    home = replace(DC, is_residential=True)
    assert due(lived(book, told, as_of="2024-09-01", what=home)) == "2026-08-31"
    assert due(lived(book, told, as_of="2024-09-01", what=DC)) == "2025-08-31"
    reclaimed = replace(home, service=ServiceKind.RECLAIMED)
    assert due(lived(book, told, as_of="2024-09-01", what=reclaimed)) == "2025-02-28"


def test_massachusetts_semiannually_or_once_a_year_where_the_supply_runs_part_of_it() -> None:
    # local code on 310 CMR 22.22, 1988-era text
    book, told = place("massachusetts-1988"), "passed 2025-08-31"
    assert due(lived(book, told, as_of="2025-09-01", what=RP)) == "2026-02-28"
    camp = replace(RP, runs_part_year=True)
    assert due(lived(book, told, as_of="2025-09-01", what=camp)) == "2026-08-31"
    other = lived(book, told, as_of="2025-09-01", what=PVB)
    assert (due(other), other.gap) == ("nothing", "how often other types")


def test_michigan_every_three_years_chemical_free_lawn_irrigation_every_five() -> None:
    # R 325.11404
    book, told = place("michigan"), "passed 2024-02-29"
    assert due(lived(book, told, as_of="2024-03-01", what=DC)) == "2027-02-28"
    lawn = replace(PVB, has_chemicals=False)
    assert due(lived(book, told, as_of="2024-03-01", what=lawn)) == "2029-02-28"
    assert due(lived(book, told, as_of="2024-03-01", what=PVB)) == "2027-02-28"


def test_new_york_at_installation_after_each_repair_and_annually() -> None:
    # 10 NYCRR 5-1.31; "at installation" taken as that day, the days after a repair invented
    events = (
        '[[event]]\nid = "new"\nevent = "installed"\ndays = 0\ncitation = "10 NYCRR 5-1.31"\n\n'
        '[[event]]\nid = "mended"\nevent = "repaired"\ndays = 3\ncitation = "days invented"\n\n'
    )
    book = rules(TEST_KIND + "\n" + YEARLY + "\n" + events + NO_LADDER)
    told = "installed 2025-05-05"
    assert due(lived(book, told, as_of="2025-05-05")) == "2025-05-05"
    told += ", passed 2025-05-05"
    assert due(lived(book, told, as_of="2025-05-06")) == "2026-05-05"
    told += ", repaired 2025-09-01"
    assert due(lived(book, told, as_of="2025-09-01")) == "2025-09-04"


def test_louisiana_air_gaps_are_inspected_annually() -> None:
    # 2015 IPC 312.10 as amended
    toml = """[[kind]]
name = "test"
met_by = ["test"]

[[kind]]
name = "air-gap inspection"
met_by = ["air-gap inspection"]

[[exempt]]
id = "no field test"
types = ["AG"]
citation = "an air gap is inspected"

[[cycle]]
id = "air gap"
kind = "air-gap inspection"
types = ["AG"]
regime = "rolling"
every = "FREQ=YEARLY"
opens_days = 30
citation = "2015 IPC 312.10: AG inspected annually"

"""
    book = rules(toml + YEARLY + "\n" + NO_LADDER)
    gap = Attributes(type=AssemblyType.AG)
    told = [replace(fact, work="air-gap inspection") for fact in facts("passed 2024-10-31")]
    ledger = lived(book, told, as_of="2025-11-01", what=gap)
    assert ledger.kind == "air-gap inspection"
    assert (due(ledger), standing(ledger, date(2025, 11, 1))) == ("2025-10-31", Standing.OVERDUE)
    assert due(lived(book, "passed 2024-10-31", as_of="2024-11-01", what=DC)) == "2025-10-31"


def test_louisiana_at_install_after_repair_or_relocation_and_annually() -> None:
    # 2015 IPC 312.10 as amended; "at" and "immediately after" taken as that day
    events = "".join(
        f'[[event]]\nid = "{event}"\nevent = "{event}"\ndays = 0\n'
        'citation = "2015 IPC 312.10 as amended"\n\n'
        for event in ("installed", "repaired", "relocated")
    )
    book = rules(TEST_KIND + "\n" + YEARLY + "\n" + events + NO_LADDER)
    assert due(lived(book, "installed 2025-05-05", as_of="2025-05-05")) == "2025-05-05"
    told = "installed 2025-05-05, passed 2025-05-05"
    assert due(lived(book, told, as_of="2025-05-06")) == "2026-05-05"
    for event in ("repaired", "relocated"):
        found = lived(book, f"{told}, {event} 2025-09-01", as_of="2025-09-01")
        assert due(found) == "2025-09-01", event


@pytest.mark.parametrize(
    ("type_", "kind", "expected"),
    [
        (AssemblyType.DC, "test", "2026-08-31"),  # 12 months
        (AssemblyType.DC, "internal inspection", "2028-02-29"),  # 30 months
        (AssemblyType.RP, "internal inspection", "2030-08-31"),  # 5 years
        (AssemblyType.PVB, "visual inspection", "2025-11-30"),  # 3 months
        (AssemblyType.PVB, "internal inspection", "nothing"),
        (AssemblyType.DC, "visual inspection", "nothing"),
    ],
)
def test_toledo_tests_internal_and_visual_inspections(
    type_: AssemblyType, kind: str, expected: str
) -> None:
    # 204.09: 12 months; DC opened every 30 months, RP every 5 years; PVB visual every 3 months
    told = [replace(fact, work=kind) for fact in facts("passed 2025-08-31")]
    ledger = lived(
        place("toledo-oh"), told, as_of="2025-09-01", what=Attributes(type=type_, hazard=Hazard.LOW)
    )
    assert due_of(ledger, kind) == expected


def test_crossville_within_365_days_and_on_return_after_winter() -> None:
    # Crossville TN: 365 days, so one day earlier than a year where 29 February lies between
    book = rules(
        TEST_KIND + "\n"
        + YEARLY.replace('opens_days', 'cap_days = 365\nopens_days')
        + '\n[[event]]\nid = "spring"\nevent = "dewinterised"\nservices = ["irrigation"]\n'
        'days = 0\ncitation = "Crossville TN: on return to service after winter"\n\n' + NO_LADDER
    )  # fmt: skip
    assert due(lived(book, "passed 2023-06-01", as_of="2023-07-01")) == "2024-05-31"
    assert due(lived(book, "passed 2024-06-01", as_of="2024-07-01")) == "2025-06-01"
    told = "passed 2024-06-01, idled 2024-11-01, dewinterised 2025-04-14"
    assert due(lived(book, told, as_of="2025-04-14", what=PVB)) == "2025-04-14"


def test_ankeny_a_test_before_return_after_more_than_three_months_out_of_use() -> None:
    # Ankeny IA: idle since 15 January: longer than 3 months from 16 April on
    event = (
        '[[event]]\nid = "back"\nevent = "resumed"\nidle_months = 3\ndays = 0\n'
        'citation = "Ankeny IA: out of use > 3 months: test before return"\n\n'
    )
    book = rules(TEST_KIND + "\n" + YEARLY + "\n" + event + NO_LADDER)
    told = "passed 2024-12-01, idled 2025-01-15, resumed"
    assert due(lived(book, f"{told} 2025-04-16", as_of="2025-04-16")) == "2025-04-16"
    assert due(lived(book, f"{told} 2025-04-15", as_of="2025-04-15")) == "2025-12-01"


def test_beaverton_within_30_days_of_the_installation_anniversary() -> None:
    # Beaverton OR 4.02.165: 15 August, 30 days on either side: 16 July to 14 September
    cycle = (
        '[[cycle]]\nid = "window"\nregime = "anniversary"\nevery = "FREQ=YEARLY"\n'
        "opens_days = 60\nearly_days = 30\nlate_days = 30\n"
        'citation = "Beaverton OR 4.02.165"\n\n'
    )
    book = rules(TEST_KIND + "\n" + cycle + NO_LADDER)
    first = "installed 2023-08-15, passed 2023-08-15"
    assert due(lived(book, first, as_of="2024-01-01")) == "2024-09-14"
    early = first + ", passed 2024-07-16"
    assert due(lived(book, early, as_of="2024-08-01")) == "2025-09-14"
    late = first + ", passed 2024-09-14"
    assert due(lived(book, late, as_of="2024-10-01")) == "2025-09-14"
    too_early = first + ", passed 2024-07-15"  # a day before the window: a new anchor
    assert due(lived(book, too_early, as_of="2024-08-01")) == "2025-08-14"


def test_oro_valley_45_days_early_and_never_past_12_months_from_the_last_test() -> None:
    # 15-23-13: compliance date 15 June; 45 days before is 1 May
    book, first = place("oro-valley-az"), "installed 2023-06-15, passed 2023-06-15"
    assert due(lived(book, first, as_of="2024-01-01")) == "2024-06-15"
    early = first + ", passed 2024-05-01"
    assert due(lived(book, early, as_of="2024-06-01")) == "2025-05-01"  # not 15 June
    late = first + ", passed 2024-07-20"
    assert due(lived(book, late, as_of="2024-08-01")) == "2025-06-15"  # the date stays


def test_south_weber_within_10_working_days_of_installation() -> None:
    # South Weber UT. Installed Tuesday 24 November 2026; 26 November is Thanksgiving:
    # 25, 27, 30 November, 1, 2, 3, 4, 7, 8, 9 December are ten days of work.
    event = (
        '[[event]]\nid = "new"\nevent = "installed"\ndays = 10\nis_working = true\n'
        'citation = "South Weber UT: within 10 working days of installation"\n\n'
    )
    book = rules(TEST_KIND + "\n" + YEARLY + "\n" + event + NO_LADDER)
    told = "installed 2026-11-24"
    closed = {date(2026, 11, 26)}
    assert due(lived(book, told, as_of="2026-11-24", holidays=closed)) == "2026-12-09"
    assert due(lived(book, told, as_of="2026-11-24")) == "2026-12-08"


def test_california_from_memory_at_least_annually_and_after_dewinterising() -> None:
    # California policy handbook, 2024, from memory
    book = place("sacramento-ca")
    assert due(lived(book, "passed 2025-01-31", as_of="2025-02-01")) == "2026-01-31"
    gap = next(each for each in book.gap_list if each.part is Part.EVENT)
    assert FactKind.DEWINTERISED in gap.events
    assert "from memory" in gap.what


def test_a_fire_line_owes_a_forward_flow_test_besides_the_performance_test() -> None:
    # NFPA 25, read in part: annual forward-flow test besides the backflow performance test
    toml = """[[kind]]
name = "test"
met_by = ["test"]

[[kind]]
name = "forward-flow test"
met_by = ["forward-flow test"]

[[cycle]]
id = "forward flow"
kind = "forward-flow test"
services = ["fire"]
regime = "rolling"
every = "FREQ=YEARLY"
opens_days = 30
citation = "NFPA 25: annual forward-flow test of a fire line"

"""
    book = rules(toml + YEARLY + "\n" + NO_LADDER)
    fire = Attributes(type=AssemblyType.DCDA, hazard=Hazard.LOW, service=ServiceKind.FIRE)
    told = facts("installed 2025-02-03, passed 2025-02-10, passed 2025-03-10")
    told[2] = replace(told[2], work="forward-flow test")
    ledger = lived(book, told, as_of="2025-04-01", what=fire)
    assert due_of(ledger, "test") == "2026-02-10"
    assert due_of(ledger, "forward-flow test") == "2026-03-10"
    assert due_of(lived(book, told, as_of="2025-04-01", what=DC), "forward-flow test") == "nothing"


@pytest.mark.parametrize(
    ("name", "what", "expected"),
    [
        ("cross-valley-wa", DC, "2026-05-31"),  # 1 Jan-31 May
        ("highland-wa", PVB, "2026-05-31"),  # sprinklers 30 Mar-31 May
        ("highland-wa", DC, "2025-10-06"),  # others: the anniversary
        ("colorado-calendar-year", DC, "2026-12-31"),  # the calendar year
    ],
)
def test_fixed_seasons_and_a_mixed_place(name: str, what: Attributes, expected: str) -> None:
    told = "installed 2022-10-06, passed 2022-10-06, passed 2023-04-20, passed 2024-04-20,"
    told += " passed 2025-04-20"
    if expected == "2025-10-06":
        told = "installed 2022-10-06, passed 2022-10-06, passed 2023-10-06, passed 2024-10-06"
    assert due(lived(place(name), told, as_of="2025-05-01", what=what)) == expected


@pytest.mark.parametrize(
    ("source", "opens", "every", "expected"),
    [
        ("Covington WA", "01-01", "BYMONTH=7;BYMONTHDAY=31", "2026-07-31"),
        ("Liberty Lake WA", "01-01", "BYMONTH=6;BYMONTHDAY=30", "2026-06-30"),
        ("Gardner KS", "01-01", "BYMONTH=7;BYMONTHDAY=1", "2026-07-01"),
    ],
)
def test_other_seasons_in_print(source: str, opens: str, every: str, expected: str) -> None:
    cycle = (
        f'[[cycle]]\nid = "season"\nregime = "season"\nevery = "FREQ=YEARLY;{every}"\n'
        f'season_opens = "{opens}"\ncredit_from = "01-01"\ncitation = "{source}"\n\n'
    )
    book = rules(TEST_KIND + "\n" + cycle + NO_LADDER)
    assert due(lived(book, "passed 2025-03-03", as_of="2025-04-01")) == expected


def test_oro_valley_a_capped_anniversary_met_is_not_asked_again() -> None:
    # 15-23-13: installed 1 June 2022, passed 5 June 2022 and 20 April 2023 (from 17 April on it
    # meets 1 June 2023). 1 June 2024 is capped to 20 April 2024, its window opens 6 March: the
    # pass of 10 March 2024 meets it. Next 1 June 2025, capped to 10 March 2025.
    told = "installed 2022-06-01, passed 2022-06-05, passed 2023-04-20, passed 2024-03-10"
    ledger = lived(place("oro-valley-az"), told, as_of="2024-04-01")
    assert due(ledger) == "2025-03-10"
    periods = [each.key.period for each in (*ledger.obligations, *ledger.coming)]
    assert len(set(periods)) == len(periods)
    assert periods[-1] == date(2025, 6, 1)


def test_a_first_pass_before_the_window_leaves_no_row_of_what_never_opened() -> None:
    cycle = YEARLY.replace('"rolling"', '"anniversary"\nearly_days = 30')
    book = rules(TEST_KIND + "\n" + cycle + "\n" + NO_LADDER)
    ledger = lived(book, "installed 2019-01-29, passed 2019-01-29", as_of="2019-02-01")
    assert ledger.obligations == ()
    assert due(ledger) == "2020-01-29"


def test_a_cap_of_a_season_counts_from_the_last_pass_of_all() -> None:
    season = (
        '[[cycle]]\nid = "season"\nregime = "season"\ncap_days = 365\n'
        'every = "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=28"\n'
        'season_opens = "01-01"\ncredit_from = "05-01"\ncitation = "a season with a cap"\n\n'
    )
    book = rules(TEST_KIND + "\n" + season + NO_LADDER)
    once = "passed 2024-02-03"
    assert due(lived(book, once, as_of="2024-02-20")) == "2025-02-02"  # 3 February + 365
    twice = once + ", passed 2024-02-24"
    assert due(lived(book, twice, as_of="2024-03-01")) == "2025-02-23"  # 24 February + 365


def test_a_change_to_anniversaries_counts_on_from_the_last_pass() -> None:
    cycle = YEARLY.replace('"rolling"', '"anniversary"\nearly_days = 45')
    books = [
        RulebookFrom(on=date(2018, 1, 1), rulebook=book_named("plain-season")),
        RulebookFrom(
            on=date(2019, 12, 11), rulebook=rules(TEST_KIND + "\n" + cycle + "\n" + NO_LADDER)
        ),
    ]
    ledger = walked(books, "passed 2019-01-15, passed 2021-02-28", as_of="2021-03-01")
    assert due(ledger) == "2022-01-15"  # late, and all the same met
