"""Notices and enforcement as published, place by place, each day counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from registry.domain.kinds import AssemblyType, Hazard, ServiceKind
from scheduling.domain.ladders import Ladder, LeftRung, RungStep, next_rung
from scheduling.domain.obligations import Obligation, ObligationKey, Origin
from scheduling.domain.pauses import Pause
from scheduling.domain.rulebook import Attributes, Topic
from scheduling.domain.rungs import Recipient
from scheduling.domain.workdays import days_after
from tests.domain.scheduling.places.atlas import (
    DC,
    RP,
    TEST_KIND,
    YEARLY,
    place,
    rules,
)

DUE = date(2026, 6, 15)
OPEN = Obligation(
    key=ObligationKey("test", Origin.CYCLE, date(2025, 6, 15), DUE),
    opens_on=date(2026, 3, 1),
    due_on=DUE,
    is_open=True,
    rule="cycle yearly",
    citation="a place",
    rulebook="a place",
)
FAILED = OPEN._replace(failed_on=date(2026, 4, 1), cure_by=date(2026, 4, 22))


def step(
    ladder: Ladder,
    today: str,
    *left: tuple[str, str],
    owed: Obligation = OPEN,
    holidays: frozenset[date] = frozenset(),
) -> RungStep | None:
    return next_rung(
        ladder=ladder,
        obligation=owed,
        left=[LeftRung(rung=key, left_on=date.fromisoformat(on)) for key, on in left],
        today=date.fromisoformat(today),
        holidays=holidays,
    )


def told(
    ladder: Ladder,
    today: str,
    *left: tuple[str, str],
    owed: Obligation = OPEN,
    holidays: frozenset[date] = frozenset(),
) -> str:
    """The next rung and its day as `notice 2026-05-01`."""
    found = step(ladder, today, *left, owed=owed, holidays=holidays)
    return "nothing" if found is None else f"{found.rung.key} {found.on}"


def rungs(*tables: str) -> Ladder:
    """A ladder of the test's own, from the text of a place."""
    return rules(TEST_KIND + "\n" + YEARLY + "\n" + "\n".join(tables)).ladder


def rung(key: str, citation: str, *more: str, trigger: str = "due") -> str:
    lines = [f'key = "{key}"', f'trigger = "{trigger}"', *more, f'citation = "{citation}"']
    return "[[rung]]\n" + "\n".join(lines) + "\n"


def test_oro_valley_notice_45_days_and_certified_second_15_days_before_due() -> None:
    # 15-23-13: due 15 June 2026; 45 days before is 1 May, 15 days before is 31 May
    ladder = place("oro-valley-az").ladder_for(kind="test", attributes=DC)
    first = step(ladder, "2026-04-20")
    assert first is not None
    assert (first.rung.key, first.on, first.latest_on) == (
        "notice",
        date(2026, 5, 1),
        date(2026, 5, 1),
    )
    assert first.warning == ""
    second = step(ladder, "2026-05-02", ("notice", "2026-05-01"))
    assert second is not None
    assert (second.rung.key, second.on) == ("second-notice", date(2026, 5, 31))
    assert (second.rung.channel, second.rung.is_required) == ("certified", True)


def test_oro_valley_a_statutory_notice_missed_goes_at_once_and_a_person_is_told() -> None:
    # 15-23-13: at least 45 days before due; found on 10 May, nine days late
    ladder = place("oro-valley-az").ladder_for(kind="test", attributes=DC)
    late = step(ladder, "2026-05-10")
    assert late is not None
    assert late.rung.key == "notice"
    assert late.warning == (
        "notice had to leave by 2026-05-01 and leaves 2026-05-10 at the earliest: it goes at"
        " once, and a person looks at what follows from it."
    )


def test_oro_valley_the_report_is_in_by_the_due_date() -> None:
    # 15-23-13
    topics = {rule.topic: rule.words for rule in place("oro-valley-az").provisions}
    assert topics[Topic.REPORT_DUE] == "The report of the test is in by the due date."


def test_willcox_15_days_to_remedy_with_certified_mail_at_day_10() -> None:
    # 13.13.130: overdue from 16 June 2026; certified on 26 June, off from 1 July, with about
    # 2 days of notice
    ladder = place("willcox-az").ladder_for(kind="test", attributes=DC)
    assert told(ladder, "2026-06-01") == "notice 2026-06-16"
    left = [("notice", "2026-06-16")]
    assert told(ladder, "2026-06-17", *left) == "certified-notice 2026-06-26"
    left.append(("certified-notice", "2026-06-26"))
    assert told(ladder, "2026-06-27", *left) == "turn-off-notice 2026-07-01"  # 15 days in all
    left.append(("turn-off-notice", "2026-07-01"))
    last = step(ladder, "2026-07-02", *left)
    assert last is not None
    assert (last.rung.key, last.on) == ("shutoff-order", date(2026, 7, 3))
    assert last.rung.needs_release
    book = place("willcox-az")
    assert [rule.topic for rule in book.provisions] == [Topic.EMERGENCY]


def test_placer_style_30_days_then_14_then_termination() -> None:
    # Placer-style district code 2.07.090
    ladder = rungs(
        rung("notice", "2.07.090: 30 d notice", "offset_days = 1"),
        rung("second", "2.07.090: second", "offset_days = 1", 'after = "notice"', "gap_days = 30"),
        rung(
            "termination",
            "2.07.090: 14 d, then termination",
            "offset_days = 1",
            'after = "second"',
            "gap_days = 14",
            "is_order = true",
            "needs_release = true",
        ),
    )
    left = [("notice", "2026-06-16")]
    assert told(ladder, "2026-06-17", *left) == "second 2026-07-16"
    left.append(("second", "2026-07-20"))  # left four days late: the next counts from it
    assert told(ladder, "2026-07-21", *left) == "termination 2026-08-03"


def test_kansas_city_reminder_14_days_then_off_and_restored_with_a_booked_test() -> None:
    # 78-299; the days of the due letter and the reminder are a gap, and leave by no clock
    book = place("kansas-city-mo")
    ladder = book.ladder_for(kind="test", attributes=DC)
    assert told(ladder, "2026-09-01") == "nothing"
    left = [("due-letter", "2026-06-15"), ("reminder", "2026-07-01")]
    assert told(ladder, "2026-07-02", *left) == "shutoff-order 2026-07-15"
    restored = next(rule for rule in book.provisions if rule.topic is Topic.RESTORATION)
    assert restored.words.startswith("Water comes back only with a test that is booked or current")
    assert "ladder" in book.gaps


def test_sacramento_notice_30_days_to_the_customer_and_the_occupant() -> None:
    # 13.04.245: mailed 16 June 2026, off from 16 July at the earliest
    book = place("sacramento-ca")
    ladder = book.ladder_for(kind="test", attributes=DC)
    notice = ladder.rung("shutoff-notice")
    assert notice.recipients == (Recipient.CUSTOMER, Recipient.OCCUPANT)
    assert told(ladder, "2026-06-16", ("shutoff-notice", "2026-06-16")) == (
        "shutoff-order 2026-07-16"
    )
    assert any(rule.topic is Topic.EMERGENCY for rule in book.provisions)


def test_california_30_days_to_repair_run_from_the_notice() -> None:
    # policy handbook, 2024, from memory: the repair notice left 3 April, so 3 May
    ladder = place("sacramento-ca").ladder_for(kind="test", attributes=DC)
    no_cure = FAILED._replace(cure_by=None, due_on=date(2026, 4, 10))
    assert told(ladder, "2026-04-04", ("repair", "2026-04-03"), owed=no_cure) == (
        "shutoff-notice 2026-05-03"
    )


def test_ennis_ten_working_days_and_a_hearing_asked_within_ten_days_of_receipt() -> None:
    # 18-97: left Tuesday 24 November 2026, Thanksgiving on the 26th: ten days of work end on
    # 9 December. Receipt presumed 3 days after leaving (a test's own figure), 27 November:
    # a hearing may be asked for until 7 December.
    ladder = rungs(
        rung("notice", "18-97", "offset_days = 1"),
        rung(
            "shutoff-order",
            "18-97: at least 10 working days",
            "offset_days = 1",
            'after = "notice"',
            "gap_days = 10",
            "is_working = true",
            "is_order = true",
            "needs_release = true",
        ),
    )
    closed = frozenset({date(2026, 11, 26)})
    left = ("notice", "2026-11-24")
    assert told(ladder, "2026-11-25", left, holidays=closed) == "shutoff-order 2026-12-09"
    hearing = rules(
        TEST_KIND + "\n" + YEARLY + '\n[[provision]]\nid = "hearing"\ntopic = "hearing"\n'
        'words = "A hearing is asked for within 10 calendar days of receipt."\ndays = 10\n'
        'citation = "Ennis TX 18-97"\n\n' + rung("notice", "18-97")
    ).provisions[0]
    assert hearing.days == 10
    assert days_after(date(2026, 11, 27), 10, is_working=hearing.is_working) == date(2026, 12, 7)


def test_receipt_presumed_some_days_after_leaving_comes_before_the_gap() -> None:
    # left 1 March, receipt presumed 3 days later, gap 14: 18 March
    ladder = rungs(
        rung("notice", "clock from receipt", "offset_days = 1"),
        rung(
            "second",
            "clock from receipt",
            "offset_days = 1",
            'after = "notice"',
            "gap_days = 14",
            "presumed_days = 3",
        ),
    )
    owed = OPEN._replace(opens_on=date(2026, 1, 1), due_on=date(2026, 2, 1))
    assert told(ladder, "2026-03-02", ("notice", "2026-03-01"), owed=owed) == "second 2026-03-18"


FIRE = Attributes(type=AssemblyType.DCDA, hazard=Hazard.LOW, service=ServiceKind.FIRE)


@pytest.mark.parametrize(
    ("what", "expected"),
    [
        (RP, "shutoff-order-high 2026-06-17"),  # immediate: the day after the notice
        (DC, "shutoff-order 2026-08-15"),  # 60 days after 16 June
        (replace(DC, is_residential=True), "shutoff-order-residential 2026-10-14"),  # 120 days
        (replace(RP, service=ServiceKind.UNKNOWN), "shutoff-order-high 2026-06-17"),
    ],
)
def test_hernando_high_at_once_others_60_or_120_days(what: Attributes, expected: str) -> None:
    # 28-173
    ladder = place("hernando-county-fl").ladder_for(kind="test", attributes=what)
    assert told(ladder, "2026-06-17", ("notice", "2026-06-16")) == expected


def test_hernando_a_fire_line_is_reported_and_never_shut_off() -> None:
    # 28-173
    book = place("hernando-county-fl")
    ladder = book.ladder_for(kind="test", attributes=FIRE)
    assert [each.key for each in ladder.rungs] == ["fire-notice", "fire-report"]
    assert ladder.rung("fire-report").recipients == (Recipient.FIRE_AUTHORITY,)
    assert not any(each.is_order for each in ladder.rungs)


def test_copper_mountain_failed_repaired_within_60_days_off_at_120() -> None:
    # Copper Mountain CO: failed 1 April 2026: 31 May, 30 July
    ladder = rungs(
        rung("repair", "failed: repaired within 60 d", trigger="failed"),
        rung(
            "shutoff-order",
            "off at 120 d",
            "offset_days = 120",
            "is_order = true",
            "needs_release = true",
            trigger="failed",
        ),
    )
    owed = FAILED._replace(cure_by=days_after(date(2026, 4, 1), 60, is_working=False))
    assert owed.cure_by == date(2026, 5, 31)
    assert told(ladder, "2026-04-01", owed=owed) == "repair 2026-04-01"
    assert told(ladder, "2026-04-02", ("repair", "2026-04-01"), owed=owed) == (
        "shutoff-order 2026-07-30"
    )


def test_boulder_phone_the_same_day_tag_then_ten_days() -> None:
    # Boulder CO: failing test: phone same day; tag then 10 d
    ladder = rungs(
        rung("call", "phone same day", 'channel = "phone"', trigger="failed"),
        rung("tag", "tag", 'after = "call"', "offset_days = 1", trigger="failed"),
        rung(
            "shutoff-order",
            "10 d after the tag",
            'after = "tag"',
            "gap_days = 10",
            "is_order = true",
            "needs_release = true",
            trigger="failed",
        ),
    )
    first = step(ladder, "2026-04-01", owed=FAILED)
    assert first is not None
    assert (first.rung.channel, first.on) == ("phone", date(2026, 4, 1))
    left = [("call", "2026-04-01"), ("tag", "2026-04-02")]
    assert told(ladder, "2026-04-03", *left, owed=FAILED) == "shutoff-order 2026-04-12"


def test_cross_valley_a_courtesy_in_march_to_both_addresses() -> None:
    # Cross Valley WA: due 31 May; the warning and the final notice have no day in the text
    book = place("cross-valley-wa")
    ladder = book.ladder_for(kind="test", attributes=DC)
    owed = OPEN._replace(opens_on=date(2026, 1, 1), due_on=date(2026, 5, 31))
    first = step(ladder, "2026-02-01", owed=owed)
    assert first is not None
    assert (first.rung.key, first.on) == ("courtesy", date(2026, 3, 1))
    assert first.rung.recipients == (Recipient.SERVICE_ADDRESS, Recipient.BILLING_ADDRESS)
    assert told(ladder, "2026-03-02", ("courtesy", "2026-03-01"), owed=owed) == "nothing"
    assert [each.key for each in ladder.rungs if each.without_day] == ["warning", "final"]


@pytest.mark.parametrize(
    ("source", "high", "other"),
    [
        ("Lincoln County NC: 14 d health, 21 d other", (14, "2026-04-15"), (21, "2026-04-22")),
        ("Carthage NC: 7 d, 21 d", (7, "2026-04-08"), (21, "2026-04-22")),
        ("Cave Creek AZ: failed: 14 d", (14, "2026-04-15"), (14, "2026-04-15")),
    ],
)
def test_days_to_repair_after_a_failed_test(
    source: str, high: tuple[int, str], other: tuple[int, str]
) -> None:
    cures = (
        f'[[cure]]\nid = "high"\nhazards = ["high"]\ndays = {high[0]}\ncitation = "{source}"\n\n'
        f'[[cure]]\nid = "other"\ndays = {other[0]}\ncitation = "{source}"\n\n'
    )
    toml = TEST_KIND + "\n" + YEARLY + "\n" + rung("notice", source)
    book = rules(toml)
    own = rules(toml.replace("[[rung]]", cures + "[[rung]]", 1))
    book = replace(book, cures=own.cures[1:])  # without the 21 days of the test's own
    for what, expected in ((RP, high[1]), (DC, other[1])):
        rule = book.cure_rule(what)
        assert days_after(date(2026, 4, 1), rule.days, is_working=False).isoformat() == expected


def test_cave_creek_comply_within_30_days_of_the_notice() -> None:
    # Cave Creek AZ: comply in 30 d of notice
    ladder = rungs(
        rung("notice", "comply in 30 d", "offset_days = 1"),
        rung("next", "after 30 d", "offset_days = 1", 'after = "notice"', "gap_days = 30"),
    )
    assert told(ladder, "2026-06-17", ("notice", "2026-06-16")) == "next 2026-07-16"


def test_a_stopped_clock_leaves_days_out_of_the_gap() -> None:
    # left 1 March, gap 14, stopped 5 March, restarted 10 March: 15 March + 5 days
    ladder = rungs(
        rung("notice", "x", "offset_days = 1"),
        rung("second", "x", "offset_days = 1", 'after = "notice"', "gap_days = 14"),
    )
    owed = OPEN._replace(opens_on=date(2026, 1, 1), due_on=date(2026, 2, 1))
    left = ("notice", "2026-03-01")
    stopped = owed._replace(pauses=(Pause(date(2026, 3, 5)),))
    assert told(ladder, "2026-04-01", left, owed=stopped) == "nothing"
    again = owed._replace(pauses=(Pause(date(2026, 3, 5), date(2026, 3, 10)),))
    assert told(ladder, "2026-03-11", left, owed=again) == "second 2026-03-20"


def test_no_rung_leaves_on_a_day_that_is_held() -> None:
    ladder = rungs(rung("notice", "x", "offset_days = 1"))
    owed = OPEN._replace(pauses=(Pause(date(2026, 6, 10), date(2026, 7, 1)),))
    assert told(ladder, "2026-06-16", owed=owed) == "notice 2026-07-01"
    earlier = owed._replace(due_on=date(2026, 6, 1))  # owed before the hold, and not yet left
    assert told(ladder, "2026-06-05", owed=earlier) == "notice 2026-06-02"
    assert told(ladder, "2026-06-15", owed=earlier) == "notice 2026-07-01"
    assert told(ladder, "2026-07-02", owed=earlier) == "notice 2026-06-02"


def test_a_kind_that_a_rung_names_has_a_ladder_of_its_own() -> None:
    toml = (
        '[[kind]]\nname = "test"\nmet_by = ["test"]\n\n'
        '[[kind]]\nname = "protection"\nmet_by = ["protection"]\nsubject = "premises"\n\n'
    )
    book = rules(
        toml + YEARLY + "\n" + rung("notice", "x")
        + rung("install", "y", 'kinds = ["protection"]', trigger="prompted")
    )  # fmt: skip
    assert [r.key for r in book.ladder_for(kind="test", attributes=DC).rungs] == ["notice"]
    assert [r.key for r in book.ladder_for(kind="protection", attributes=DC).rungs] == ["install"]
