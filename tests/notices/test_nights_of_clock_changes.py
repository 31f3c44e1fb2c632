"""The nights in which an hour comes twice or not at all, and whose day it is.

Los Angeles, 2026 (tz database): clocks go from 2:00 to 3:00 on 8 March, from 2:00 back to
1:00 on 1 November.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.delivery.paper_runs import mail_run, make_run
from notices.models import Letter, Notice
from registry.changes import Hand
from registry.console import Refused
from registry.models import Program
from registry.moments import today_in
from scheduling.models import DayRun
from tests.notices.delivery.posts import (
    Sink,
    mail_server,
    mailing_office,
    overdue_owner,
    send,
    the_mail,
)
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

THERE = ZoneInfo("America/Los_Angeles")
DAY = timedelta(days=1)
ONCE_MORE = [  # 1:30, and an hour later 1:30 again
    datetime(2026, 11, 1, 1, 30, tzinfo=THERE, fold=0).astimezone(UTC),
    datetime(2026, 11, 1, 1, 30, tzinfo=THERE, fold=1).astimezone(UTC),
]
LEFT_OUT = [  # 1:59, and a minute later 3:00
    datetime(2026, 3, 8, 9, 59, tzinfo=UTC),
    datetime(2026, 3, 8, 10, 0, tzinfo=UTC),
]


def live(code: str = "flats", **changes: Any) -> Program:
    program = office(code, is_trial=False, go_live_on=START, **changes)
    place = premises(program, of=owner(program))
    assembly(place, facts=(("passed", date(2024, 12, 1)),))
    return program


def run_at(program: Program, moment: datetime) -> int:
    """Run what today is there; return how many letters it wrote."""
    today = today_in(zone=program.zone, now=moment)
    return run_day(program=program, as_of=today, now=moment).letters


def mailed(program: Program, moment: datetime) -> None:
    """Say that what waits was mailed today."""
    on = today_in(zone=program.zone, now=moment)
    day, hand = Day(program=program, on=on, at=moment), Hand(by="clerk", at=moment)
    run = make_run(program=program, channel="mail", day=day, hand=hand)
    mail_run(run, on=on, day=day, hand=hand)


@pytest.mark.parametrize("moments", [ONCE_MORE, LEFT_OUT], ids=["twice", "left out"])
def test_a_run_before_and_one_after_the_change_are_of_one_day_and_write_once(
    moments: list[datetime],
) -> None:
    assert moments[1] > moments[0]
    program = live()
    assert [run_at(program, moment) for moment in moments] == [1, 0]
    (day,) = set(DayRun.objects.values_list("as_of", flat=True))
    assert day == moments[0].astimezone(THERE).date() == moments[1].astimezone(THERE).date()
    assert Letter.objects.get().composed_on == day
    assert Notice.objects.count() == 1


@pytest.mark.parametrize("moments", [ONCE_MORE, LEFT_OUT], ids=["twice", "left out"])
def test_days_over_a_change_are_counted_whole(moments: list[datetime]) -> None:
    # The second overdue notice comes 14 days after the first left: 25 and 23 hours are one day.
    program = live()
    first = moments[0] - 7 * DAY
    run_at(program, first)
    mailed(program, first)
    left = first.astimezone(THERE).date()
    for hours in range(0, 24 * 16, 11):
        run_at(program, first + timedelta(hours=hours))
    days = Notice.objects.order_by("pk").values_list("rung", "recorded_on")
    assert list(days) == [("first-overdue", left), ("second-overdue", left + 14 * DAY)]


def test_each_program_lives_on_its_own_day() -> None:
    # 02:30 UTC on 2 July 2026 is 22:30 of the 1st in New York, 16:30 in Honolulu, and already
    # noon of the 2nd on Guam.
    moment = datetime(2026, 7, 2, 2, 30, tzinfo=UTC)
    zones = {"America/New_York": 1, "Pacific/Honolulu": 1, "Pacific/Guam": 2}
    for number, (zone, day) in enumerate(zones.items()):
        program = live(f"p{number}", zone=zone)
        run_at(program, moment)
        assert Letter.objects.get(program=program).composed_on == date(2026, 7, day)
    east = Program.objects.get(code="p0")
    with pytest.raises(Refused, match="has not come yet for p0; there today is 2026-07-01"):
        run_day(program=east, as_of=date(2026, 7, 2), now=moment)


@pytest.mark.parametrize(
    ("moment", "left_on"),
    [
        (datetime(2026, 1, 6, 7, 59, tzinfo=UTC), date(2026, 1, 5)),
        (datetime(2026, 1, 6, 8, 0, tzinfo=UTC), date(2026, 1, 6)),
    ],
    ids=["before midnight there", "midnight there"],
)
def test_an_e_mail_leaves_on_the_day_it_is_where_the_office_is(
    moment: datetime, left_on: date
) -> None:
    with mail_server(Sink()):
        program = mailing_office()
        overdue_owner(program)
        run_day(program=program, as_of=START, now=datetime(2026, 1, 5, 20, tzinfo=UTC))
        assert send(program, at=moment).taken == 1
    assert the_mail().left_on == left_on
    assert Notice.objects.get().left_on == left_on


def test_a_clock_set_forward_and_back_repeats_nothing_and_leaves_nothing_out() -> None:
    program = live()
    begun = datetime(2026, 3, 2, 20, tzinfo=UTC)
    run_at(program, begun)
    mailed(program, begun)
    ahead = begun + 3 * DAY  # the machine's clock is three days fast for one run
    assert run_at(program, ahead) == 0
    with pytest.raises(Refused, match="lies before it"):
        run_at(program, begun + DAY)
    for days in (3, 4, 13, 14, 15, 27, 28, 39):
        run_at(program, begun + days * DAY)
    rungs = Notice.objects.order_by("pk").values_list("rung", "recorded_on")
    assert list(rungs) == [
        ("first-overdue", date(2026, 3, 2)),
        ("second-overdue", date(2026, 3, 16)),
    ]  # the second waits for its mailing: nothing after it is owed
