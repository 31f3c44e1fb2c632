"""Holds, stopped clocks, exemptions, returns, month ends, premises: histories worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from registry.domain.kinds import AssemblyType, Hazard, ServiceKind
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.pauses import Pause
from scheduling.domain.rulebook import Attributes, Rulebook, SubjectKind
from scheduling.domain.standing import Standing, standing
from scheduling.domain.timeline import RulebookFrom
from scheduling.domain.workdays import days_after, next_workday
from tests.domain.scheduling.histories import (
    INSPECTION,
    book,
    facts,
    line,
    lines,
    walked,
    with_rules,
)
from tests.domain.scheduling.places.atlas import (
    DC,
    NO_LADDER,
    TEST_KIND,
    YEARLY,
    due,
    due_of,
    lived,
    rules,
)

PREMISES = Attributes(subject=SubjectKind.PREMISES, hazard=Hazard.HIGH)
OF_A_PREMISES = """[[kind]]
name = "test"
met_by = ["test"]

[[kind]]
name = "survey"
met_by = ["survey"]
subject = "premises"

[[kind]]
name = "protection"
met_by = ["protection"]
subject = "premises"

[[cycle]]
id = "surveyed again"
kind = "survey"
regime = "rolling"
every = "FREQ=YEARLY;INTERVAL=2"
opens_days = 60
citation = "35 IAC 604.1510: survey of customers every 2 years"

[[event]]
id = "install or replace"
kind = "protection"
event = "unprotected"
days = 30
citation = "a program's own rule: protection within 30 days"

[[rung]]
key = "reminder"
trigger = "due"
offset_days = -15
is_skippable = true
citation = "a test's own rung"

[[rung]]
key = "install"
trigger = "prompted"
kinds = ["protection"]
citation = "a test's own rung"
"""


def plain_with(*tables: str) -> Rulebook:
    return rules("\n".join([TEST_KIND, *tables, NO_LADDER]))


def plain(*more: str) -> Rulebook:
    return plain_with(YEARLY, *more)


# Extensions, holds, stopped clocks


def test_a_hold_moves_a_due_date_that_falls_into_it_to_its_last_day() -> None:
    # due 1 June 2026, held 15 May to 31 August: due 31 August
    told = "passed 2025-06-01, held 2026-05-15 until=2026-08-31"
    ledger = walked("plain-rolling", told, as_of="2026-07-01")
    assert due(ledger) == "2026-08-31"
    assert standing(ledger, date(2026, 7, 1)) is Standing.DUE
    assert ledger.current is not None
    assert ledger.current.pauses == (Pause(date(2026, 5, 15), date(2026, 9, 1)),)
    assert ledger.next_action_on == date(2026, 9, 1)  # first-overdue, 31 August + 1


def test_a_hold_excuses_nobody_who_was_overdue_before_it() -> None:
    # due 1 June 2026, held from 2 June: overdue all the same, and nothing leaves until it ends
    told = "passed 2025-06-01, held 2026-06-02 until=2026-06-30"
    ledger = walked("plain-rolling", told, as_of="2026-06-10")
    assert (due(ledger), standing(ledger, date(2026, 6, 10))) == ("2026-06-01", Standing.OVERDUE)
    assert ledger.next_action_on == date(2026, 7, 1)


def test_a_hold_moves_the_day_to_cure_by() -> None:
    # failed 1 May 2026, low hazard: 22 May; held 10 May to 15 June: 15 June
    told = "passed 2025-12-01, failed 2026-05-01, held 2026-05-10 until=2026-06-15"
    ledger = walked("plain-rolling", told, as_of="2026-05-20")
    assert ledger.current is not None
    assert ledger.current.cure_by == date(2026, 6, 15)


def test_a_hold_also_holds_what_comes_up_in_it() -> None:
    # held 1 January to 31 December 2026; passed 1 March 2025, next due 1 March 2026
    told = "passed 2025-03-01, held 2026-01-01 until=2026-12-31, passed 2026-02-10"
    assert due(walked("plain-rolling", told, as_of="2026-03-01")) == "2027-02-10"
    without = "passed 2025-03-01, held 2026-01-01 until=2026-12-31"
    assert due(walked("plain-rolling", without, as_of="2026-03-01")) == "2026-12-31"


@pytest.mark.parametrize("told", ["held 2026-05-15", "held 2026-05-15 until=2026-05-14"])
def test_a_hold_without_a_sound_end_holds_nothing_and_asks_a_person(told: str) -> None:
    ledger = walked("plain-rolling", f"passed 2025-06-01, {told}", as_of="2026-05-20")
    assert due(ledger) == "2026-06-01"
    assert any("a hold ends on a day after it begins" in each for each in ledger.questions)


def test_a_stopped_clock_moves_no_date_and_lets_nothing_leave() -> None:
    told = "passed 2025-06-01, stopped 2026-06-05"
    ledger = walked("plain-rolling", told, as_of="2026-06-10")
    assert (due(ledger), standing(ledger, date(2026, 6, 10))) == ("2026-06-01", Standing.OVERDUE)
    assert ledger.next_action_on is None
    again = walked("plain-rolling", f"{told}, restarted 2026-06-20", as_of="2026-06-20")
    assert again.next_action_on == date(2026, 6, 20)
    assert again.current is not None
    assert again.current.pauses == (Pause(date(2026, 6, 5), date(2026, 6, 20)),)


# Exemption and idle time


def test_an_exemption_excuses_what_is_open_and_names_the_day_to_look_again() -> None:
    told = "passed 2025-06-01, exempted 2026-05-10 until=2026-11-10"
    ledger = walked("plain-rolling", told, as_of="2026-06-10")
    assert lines(ledger) == ["opens 2026-04-02 due 2026-06-01 excused 2026-05-10"]
    assert standing(ledger, date(2026, 6, 10)) is Standing.EXEMPT
    assert (ledger.review_on, ledger.questions) == (date(2026, 11, 10), ())


def test_included_again_it_is_due_no_sooner_than_the_days_of_transition() -> None:
    # last pass 1 June 2025, so 1 June 2026; included 1 July 2026 + 30 days = 31 July
    told = "passed 2025-06-01, exempted 2026-05-10 until=2026-11-10, included 2026-07-01"
    ledger = walked("plain-rolling", told, as_of="2026-07-01")
    assert lines(ledger)[-1] == "opens 2026-07-01 due 2026-07-31"
    assert ledger.review_on is None


def test_a_pass_while_exempted_counts_for_what_comes_after() -> None:
    told = "passed 2025-06-01, exempted 2026-05-10 until=2026-11-10, passed 2026-06-20"
    ledger = walked("plain-rolling", f"{told}, included 2026-07-01", as_of="2026-07-01")
    assert due(ledger) == "2027-06-20"


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ("passed 2025-06-01, idled 2026-06-02", "while overdue since 2026-06-01"),
        ("passed 2025-12-01, failed 2026-05-01, idled 2026-05-02", "while failed since 2026-05-01"),
        ("passed 2025-06-01, exempted 2026-06-02", "exempted on 2026-06-02 while overdue"),
    ],
)
def test_one_put_aside_while_failed_or_overdue_goes_to_a_person(told: str, said: str) -> None:
    (asked,) = walked("plain-rolling", told, as_of="2026-07-01").questions
    assert said in asked


def test_idle_in_good_order_asks_nobody_and_is_looked_at_again() -> None:
    ledger = walked(
        "plain-rolling", "passed 2025-12-01, idled 2026-05-02 until=2026-11-02", as_of="2026-07-01"
    )
    assert (ledger.questions, ledger.review_on) == ((), date(2026, 11, 2))


def test_a_return_with_no_idle_time_on_record_asks_a_person_how_long() -> None:
    event = (
        '[[event]]\nid = "back"\nevent = "reoccupied"\nidle_months = 12\ndays = 0\n'
        'citation = "Harker Heights TX Ord. 2019-22"\n'
    )
    ledger = lived(plain(event), "passed 2025-12-01, reoccupied 2026-05-02", as_of="2026-06-01")
    (asked,) = ledger.questions
    assert "no day since which it was out of use" in asked
    assert due(ledger) == "2026-12-01"


# Month ends and days of work


def test_due_at_the_end_of_the_month_and_counted_on_from_the_unmoved_day() -> None:
    cycle = YEARLY.replace('"rolling"', '"rolling"\nmonth_end = true')
    book = plain_with(cycle)
    assert due(lived(book, "passed 2023-02-10", as_of="2023-03-01")) == "2024-02-29"
    anniversary = cycle.replace('"rolling"', '"anniversary"\nearly_days = 45')
    book = plain_with(anniversary)
    told = "installed 2022-02-10, passed 2022-02-10, passed 2023-02-20"
    assert due(lived(book, told, as_of="2023-03-01")) == "2024-02-29"


def test_days_of_work_leave_out_weekends_and_holidays() -> None:
    # Friday 3 July 2026 is the holiday of Saturday 4 July
    closed = {date(2026, 7, 3)}
    assert days_after(date(2026, 7, 2), 1, is_working=True, holidays=closed) == date(2026, 7, 6)
    assert days_after(date(2026, 7, 6), -1, is_working=True, holidays=closed) == date(2026, 7, 2)
    assert days_after(date(2026, 7, 2), 0, is_working=True) == date(2026, 7, 2)
    assert next_workday(date(2026, 7, 3), holidays=closed) == date(2026, 7, 6)


# More often after repeat failures


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ("passed 2025-03-03", "2026-03-03"),
        ("passed 2024-03-04, failed 2025-03-03, passed 2025-03-10", "2026-03-10"),
        (
            "failed 2024-03-04, passed 2024-03-11, failed 2025-03-03, passed 2025-03-10",
            "2025-09-10",
        ),
    ],
)
def test_two_of_the_last_two_rounds_failed_bring_the_next_forward(told: str, expected: str) -> None:
    repeat = (
        '[[repeat]]\nid = "again"\nfailures = 2\nof_last = 2\nevery = "FREQ=MONTHLY;INTERVAL=6"\n'
        'citation = "OAR 333-061-0070: more often for repeat failures (figures invented)"\n'
    )
    assert due(lived(plain(repeat), told, as_of="2025-04-01")) == expected


def test_a_season_brought_forward_keeps_its_period() -> None:
    # failed and passed in May 2024 and May 2025: six months after 12 May 2025 is 12 November,
    # before the season due 31 May 2026. That pass counts for 2026 (credit from 1 October).
    season = (
        '[[cycle]]\nid = "season"\nregime = "season"\n'
        'every = "FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=31"\n'
        'season_opens = "03-01"\ncredit_from = "10-01"\ncitation = "a season"\n\n'
        '[[repeat]]\nid = "again"\nfailures = 2\nof_last = 2\nevery = "FREQ=MONTHLY;INTERVAL=6"\n'
        'citation = "figures invented"\n'
    )
    book = plain_with(season)
    told = "failed 2024-05-06, passed 2024-05-13, failed 2025-05-05, passed 2025-05-12"
    ledger = lived(book, told, as_of="2025-06-01")
    assert due(ledger) == "2025-11-12"
    assert ledger.current is not None
    assert ledger.current.opens_on == date(2025, 8, 13)  # as long before as 1 March before 31 May
    assert ledger.current.key.period == date(2026, 5, 31)
    met = lived(book, f"{told}, passed 2025-11-10", as_of="2025-12-01")
    assert met.obligations[-1].key.period == date(2026, 5, 31)
    assert due(met) == "2027-05-31"  # of the last two rounds one failed


# Premises


def test_a_survey_of_a_premises_is_met_by_an_assessment() -> None:
    # 35 IAC 604.1510: every 2 years
    book = rules(OF_A_PREMISES + "\n" + YEARLY)
    ledger = lived(book, "assessed 2024-02-29", as_of="2024-03-01", what=PREMISES)
    assert (ledger.kind, due(ledger)) == ("survey", "2026-02-28")
    assert ledger.kinds == ("survey", "protection")
    every_five = rules(OF_A_PREMISES.replace("INTERVAL=2", "INTERVAL=5") + "\n" + YEARLY)
    toronto = lived(every_five, "assessed 2024-02-29", as_of="2024-03-01", what=PREMISES)
    assert due(toronto) == "2029-02-28"  # Toronto: every 5 years


def test_an_unprotected_service_owes_protection_by_a_day_of_its_own() -> None:
    book = rules(OF_A_PREMISES + "\n" + YEARLY)
    told = facts("assessed 2026-03-02, unprotected 2026-03-02")
    ledger = lived(book, told, as_of="2026-03-10", what=PREMISES)
    assert due_of(ledger, "protection") == "2026-04-01"
    assert due_of(ledger, "survey") == "2028-03-02"
    owed = ledger.open_of("protection")
    assert owed is not None
    assert ledger.next_actions[owed.key] == date(2026, 3, 10)  # `install`, its own ladder
    done = Fact(kind=FactKind.PASSED, on=date(2026, 3, 20), work="protection", sequence=9)
    after = lived(book, [*told, done], as_of="2026-05-01", what=PREMISES)
    assert due_of(after, "protection") == "nothing"
    assert "opens 2026-03-02 due 2026-04-01 met 2026-03-20" in lines(after)


def test_what_is_asked_of_a_premises_is_not_asked_of_an_assembly() -> None:
    book = rules(OF_A_PREMISES + "\n" + YEARLY)
    assert lived(book, "passed 2026-03-02", as_of="2026-03-10").kinds == ("test",)
    connection = replace(PREMISES, subject=SubjectKind.CONNECTION)
    nothing = lived(book, "", as_of="2026-03-10", what=connection)
    assert (nothing.obligations, nothing.is_exempt) == ((), True)


# Whom a rule catches


@pytest.mark.parametrize(
    ("match", "what", "is_caught"),
    [
        ('uses = ["Car Wash"]', replace(DC, use=" car wash"), True),
        ('uses = ["Car Wash"]', DC, False),
        ("residential = true", replace(DC, is_residential=True), True),
        ("residential = false", DC, True),  # nobody recorded it: the stricter
        ("chemicals = true", DC, True),
        ("chemicals = false", replace(DC, has_chemicals=False), True),
        ("detector = true", replace(DC, type=AssemblyType.DCDA_II), True),
        ("detector = true", DC, False),
        ("part_year = true", replace(DC, runs_part_year=True), True),
        ("part_year = true", DC, False),
        ('services = ["fire"]', replace(DC, service=ServiceKind.FIRE), True),
        ('protects = ["isolation"]', DC, False),
    ],
)
def test_a_rule_catches_by(match: str, what: Attributes, is_caught: bool) -> None:
    own = YEARLY.replace('"yearly"', f'"own"\n{match}').replace("YEARLY", "MONTHLY;INTERVAL=6")
    book = plain_with(own, YEARLY)
    expected = "2025-09-03" if is_caught else "2026-03-03"
    assert due(lived(book, "passed 2025-03-03", as_of="2025-04-01", what=what)) == expected


# Where rulebooks come and go


def test_a_kind_that_a_new_rulebook_drops_keeps_what_it_met_and_excuses_what_was_open() -> None:
    with_inspection = with_rules("plain-rolling", INSPECTION)
    books = [
        RulebookFrom(on=date(2019, 1, 1), rulebook=with_inspection),
        RulebookFrom(on=date(2022, 11, 12), rulebook=replace(book("plain-rolling"), edition=2)),
    ]
    told = [
        replace(fact, work="inspection")
        for fact in facts("passed 2017-12-01, passed 2020-05-11, passed 2020-06-01")
    ]
    ledger = walked(books, told, as_of="2023-01-01")
    mine = [line(each) for each in ledger.obligations if each.kind == "inspection"]
    # 1 December 2017 + 30 months = 1 June 2020, met 11 May; 11 November 2022 met early on 1 June;
    # 1 June 2020 + 30 months = 1 December 2022, opened 1 November, excused on the 12th
    assert mine == [
        "opens 2020-05-02 due 2020-06-01 met 2020-05-11",
        "opens 2020-06-01 due 2022-11-11 met 2020-06-01",
        "opens 2022-11-01 due 2022-12-01 excused 2022-11-12",
    ]
    assert ledger.coming_of("inspection") is None


def test_a_kind_asked_before_the_subject_was_recorded_opens_the_day_it_was_recorded() -> None:
    books = [
        RulebookFrom(on=date(2019, 1, 1), rulebook=book("plain-rolling")),
        RulebookFrom(on=date(2025, 7, 20), rulebook=with_rules("plain-rolling", INSPECTION)),
    ]
    ledger = walked(books, "", as_of="2025-11-25")
    owed = ledger.open_of("inspection")
    assert owed is not None
    assert (owed.opens_on, owed.due_on) == (date(2025, 11, 25), date(2025, 12, 25))


def test_included_while_idle_it_waits_for_the_return() -> None:
    told = "idled 2025-09-30, exempted 2025-11-08 until=2026-11-08, included 2026-01-10"
    ledger = walked("plain-rolling", told, as_of="2026-02-01")
    assert ledger.open_of("test") is None
    back = walked("plain-rolling", f"{told}, resumed 2026-02-01", as_of="2026-02-01")
    assert lines(back)[-1] == "opens 2026-02-01 due 2026-02-11"


def test_a_first_test_never_done_is_owed_again_when_included() -> None:
    # installed 25 August 2020, due 4 September; exempted, included 24 December 2022: + 30 days
    told = "installed 2020-08-25, exempted 2022-06-05 until=2022-12-05, included 2022-12-24"
    ledger = walked("plain-rolling", told, as_of="2023-01-01")
    assert lines(ledger)[-1] == "opens 2022-12-24 due 2023-01-23"
    met = walked("plain-season", f"{told}, passed 2023-01-10", as_of="2023-02-01")
    assert "opens 2022-12-24 due 2023-01-23 met 2023-01-10" in lines(met)


def test_an_exemption_outlives_a_change_of_rulebook_and_a_time_when_nothing_was_asked() -> None:
    exempt = (
        '[[exempt]]\nid = "low"\nhazards = ["low"]\ncitation = "nothing asked on low hazard"\n\n'
    )
    books = [
        RulebookFrom(on=date(2019, 1, 1), rulebook=plain(exempt)),
        RulebookFrom(on=date(2022, 6, 17), rulebook=book("plain-rolling")),
    ]
    told = "exempted 2021-06-02 until=2022-06-02"
    ledger = walked(books, told, as_of="2022-12-01")
    assert standing(ledger, date(2022, 12, 1)) is Standing.EXEMPT
    again = walked(books, f"{told}, included 2022-11-01", as_of="2022-12-01")
    assert lines(again) == ["opens 2022-11-01 due 2022-12-01"]


def test_included_and_idled_on_one_day_it_opens_first_and_is_then_idle() -> None:
    told = "passed 2024-01-05, exempted 2024-06-01 until=2024-12-01, included 2025-02-01"
    ledger = walked("plain-rolling", f"{told}, idled 2025-02-01", as_of="2025-03-01")
    owed = ledger.open_of("test")
    assert owed is not None
    assert (owed.opens_on, owed.is_suspended) == (date(2025, 2, 1), True)


def test_a_pass_found_failing_in_a_hold_has_its_day_to_cure_by_moved_too() -> None:
    # failed as found and passed 1 June 2025, low hazard: 22 June; held until 19 July
    told = [
        *facts("passed 2024-09-02, held 2024-12-31 until=2025-07-19"),
        Fact(kind=FactKind.PASSED, on=date(2025, 6, 1), found_failed=True, sequence=9),
    ]
    ledger = walked("plain-rolling", told, as_of="2025-06-02")
    assert ledger.obligations[-1].cure_by == date(2025, 7, 19)


def test_a_season_met_after_its_last_day_has_a_row_of_its_own() -> None:
    # season 1 November to 28 February, credit from 1 May; installed and passed 14 March 2020:
    # the pass counts for the season due 28 February 2020, the next is due 28 February 2021
    season = (
        '[[cycle]]\nid = "season"\nregime = "season"\n'
        'every = "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=28"\n'
        'season_opens = "11-01"\ncredit_from = "05-01"\ncitation = "a season"\n'
    )
    ledger = lived(
        plain_with(season), "installed 2020-03-14, passed 2020-03-14", as_of="2020-06-01"
    )
    assert lines(ledger) == [
        "opens 2020-03-14 due 2020-02-28 met 2020-03-14",
        "(opens 2020-11-01 due 2021-02-28)",
    ]


def test_installed_in_a_running_season_and_exempted_that_day_it_opens_and_is_excused() -> None:
    season = (
        '[[cycle]]\nid = "season"\nregime = "season"\n'
        'every = "FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=31"\n'
        'season_opens = "01-01"\ncredit_from = "01-01"\ncitation = "a season"\n'
    )
    told = "installed 2024-05-23, exempted 2024-05-23 until=2025-05-23"
    ledger = lived(plain_with(season), told, as_of="2024-06-01")
    assert lines(ledger) == ["opens 2024-05-23 due 2024-05-31 excused 2024-05-23"]


def test_what_events_alone_asked_for_stays_open_when_a_new_rulebook_gives_it_a_cycle() -> None:
    asked = (
        '[[kind]]\nname = "inspection"\nmet_by = ["inspection"]\n\n'
        '[[event]]\nid = "seen"\nkind = "inspection"\nevent = "installed"\ndays = 10\n'
        'citation = "a test\'s own rule"\n\n'
        '[[event]]\nid = "back"\nkind = "inspection"\nevent = "resumed"\nidle_months = 3\n'
        'days = 0\ncitation = "a test\'s own rule"\n'
    )
    cycle = YEARLY.replace('"yearly"', '"seen yearly"\nkind = "inspection"')
    books = [
        RulebookFrom(on=date(2019, 1, 1), rulebook=plain(asked)),
        RulebookFrom(on=date(2027, 6, 2), rulebook=plain(asked, cycle)),
    ]
    told = "installed 2026-08-10"
    owed = walked(books, told, as_of="2027-07-01").open_of("inspection")
    assert owed is not None
    assert (owed.opens_on, owed.due_on) == (date(2026, 8, 10), date(2026, 8, 20))
    done = Fact(kind=FactKind.PASSED, on=date(2026, 8, 12), work="inspection", sequence=9)
    back = [*facts(f"{told}, idled 2026-09-02, resumed 2027-01-09"), done]
    again = walked(books, back, as_of="2027-02-01").open_of("inspection")
    assert again is not None
    assert (again.opens_on, again.due_on) == (date(2027, 1, 9), date(2027, 1, 9))


def test_a_rulebook_that_begins_on_the_day_of_a_pass_opens_first() -> None:
    # anniversary of 36 months from 19 August 2020; from 17 May 2022 a season 1 January to
    # 31 July: the due date moves to 17 May + 30 days at the earliest, opens that day, and the
    # pass of that day counts for the season due 31 July 2022
    cycle = YEARLY.replace('"rolling"', '"anniversary"\nearly_days = 30').replace(
        "FREQ=YEARLY", "FREQ=MONTHLY;INTERVAL=36"
    )
    season = (
        '[[cycle]]\nid = "season"\nregime = "season"\n'
        'every = "FREQ=YEARLY;BYMONTH=7;BYMONTHDAY=31"\n'
        'season_opens = "01-01"\ncredit_from = "01-01"\ncitation = "a season"\n'
    )
    books = [
        RulebookFrom(on=date(2019, 1, 1), rulebook=plain_with(cycle)),
        RulebookFrom(on=date(2022, 5, 17), rulebook=plain_with(season)),
    ]
    ledger = walked(books, "installed 2020-08-19, passed 2022-05-17", as_of="2022-06-01")
    assert lines(ledger) == [
        "opens 2022-05-17 due 2022-06-16 missed 2022-05-17",
        "opens 2022-05-17 due 2022-07-31 met 2022-05-17",
        "(opens 2023-01-01 due 2023-07-31)",
    ]
