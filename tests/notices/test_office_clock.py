"""The office's clock: wake-ups that may come twice, late, at once, or on a wrong clock."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.test import Client
from django_q.models import Schedule

from notices.actions import waking
from notices.actions.clocks import Day
from notices.actions.day import run_day as run_the_day
from notices.actions.waking import TASK, ensure_wake_ups, wake_programs
from notices.delivery.paper_runs import mail_run, make_run
from notices.domain.kinds import Channel
from notices.models import Letter, Notice
from notices.queries.office_clock import clock_face
from notices.tasks import wake
from registry.changes import Hand
from registry.models import Program
from scheduling.models import DayRun, Obligation
from tests.notices.offices import assembly, happened, office, owner, premises
from tests.own_database import run_manage, start_manage

pytestmark = pytest.mark.django_db

MORNING = datetime(2026, 1, 5, 13, 30, tzinfo=UTC)  # 05:30 in Los Angeles


@pytest.fixture
def at_morning() -> Iterator[time_machine.Traveller]:
    with time_machine.travel(MORNING, tick=False) as traveller:
        yield traveller


def live_office(code: str = "flats", **changes: Any) -> Program:
    changes = {"is_trial": False, "go_live_on": date(2026, 1, 1), **changes}
    return office(code, **changes)


def overdue(program: Program, number: int = 230) -> None:
    place = premises(program, number, of=owner(program, f"Owner {number}"))
    assembly(place, f"S{number}", facts=[("passed", date(2024, 12, 20))])


def wake_at(moment: datetime) -> list[waking.Woken]:
    return wake_programs(clock=lambda: moment)


def mail_what_waits(program: Program) -> None:
    """Say that the letters on paper were mailed: outside a trial only this starts the clock."""
    on = date(2026, 1, 5)
    day = Day(program=program, on=on, at=MORNING)
    hand = Hand(by="clerk", at=MORNING)
    run = make_run(program=program, channel=Channel.MAIL, day=day, hand=hand)
    assert len(mail_run(run, on=on, day=day, hand=hand)) == 1


def runs(program: Program) -> list[date]:
    return [run.as_of for run in DayRun.objects.filter(program=program).order_by("started_at")]


def test_a_wake_up_runs_the_day_of_every_live_program_and_of_no_trial() -> None:
    live, trial = live_office(), office("hills")
    overdue(live)
    woken = wake_at(MORNING)
    assert [(one.program, one.day) for one in woken] == [("flats", date(2026, 1, 5))]
    assert Letter.objects.filter(program=live).count() == 1
    assert runs(trial) == []


def test_a_second_wake_up_repeats_nothing_and_takes_up_what_arrived_since() -> None:
    program = live_office()
    overdue(program)
    wake_at(MORNING)
    wake_at(MORNING + timedelta(minutes=10))
    assert Letter.objects.count() == 1
    overdue(program, 231)
    wake_at(MORNING + timedelta(minutes=20))
    assert Letter.objects.count() == 2
    assert [run.tally["letters"] for run in DayRun.objects.order_by("started_at")] == [1, 0, 1]


def test_after_five_days_off_one_rung_is_owed_per_obligation() -> None:
    program = live_office()
    overdue(program)
    wake_at(MORNING)
    mail_what_waits(program)
    wake_at(MORNING + timedelta(days=40))  # far beyond the next rungs' days
    assert runs(program) == [date(2026, 1, 5), date(2026, 2, 14)]
    owed = Obligation.objects.get(opened_on__isnull=False, closed_on__isnull=True)
    assert [notice.rung for notice in Notice.objects.filter(obligation=owed).order_by("pk")] == [
        "first-overdue",
        "second-overdue",
    ]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (datetime(2026, 3, 7, 14, tzinfo=UTC), datetime(2026, 3, 8, 12, 0, tzinfo=UTC)),
        (datetime(2026, 10, 31, 13, tzinfo=UTC), datetime(2026, 11, 1, 13, 0, tzinfo=UTC)),
    ],
    ids=["an hour left out", "an hour twice"],
)
def test_the_day_of_a_clock_change_is_run_from_its_own_hour_on(
    before: datetime, after: datetime
) -> None:
    # At 12:00 UTC on 2026-03-08 it is 05:00 PDT; at 13:00 UTC on 2026-11-01 it is 05:00 PST.
    program = live_office()
    wake_at(before)
    assert [one.day for one in wake_at(after - timedelta(minutes=10))] == [None]
    assert [one.day for one in wake_at(after)] == [after.date()]
    assert runs(program) == [before.date(), after.date()]


def test_a_clock_set_back_runs_nothing_until_it_is_right_again() -> None:
    program = live_office()
    wake_at(MORNING)
    back = MORNING - timedelta(days=3)
    assert [one.day for one in wake_at(back)] == [None]
    assert "stands before the last run" in clock_face(program, now=back).fault
    assert runs(program) == [date(2026, 1, 5)]
    assert [one.day for one in wake_at(MORNING + timedelta(days=1))] == [date(2026, 1, 6)]


def test_one_program_that_fails_is_told_and_stops_no_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bad, good = live_office(), live_office("hills")

    def run_day(*, program: Program, **rest: Any) -> object:
        if program.code == "flats":
            raise RuntimeError("the disk is full")
        return run_the_day(program=program, **rest)

    monkeypatch.setattr(waking, "run_day", run_day)
    woken = {one.program: one.problem for one in wake_at(MORNING)}
    assert woken == {"flats": "RuntimeError: the disk is full", "hills": ""}
    assert DayRun.objects.get(program=bad).problem == "RuntimeError: the disk is full"
    assert DayRun.objects.get(program=good).problem == ""


def test_a_run_that_died_is_taken_up_again_when_its_lease_has_ended() -> None:
    program = live_office()
    overdue(program)
    DayRun.objects.create(program=program, as_of=date(2026, 1, 5), started_at=MORNING)
    assert [one.why for one in wake_at(MORNING + timedelta(minutes=10))] == ["a run is under way"]
    assert [one.day for one in wake_at(MORNING + timedelta(minutes=31))] == [date(2026, 1, 5)]
    assert Letter.objects.count() == 1


def test_a_pass_that_arrives_between_two_wake_ups_withdraws_what_waits() -> None:
    program = live_office()
    place = premises(program, of=owner(program))
    one = assembly(place, facts=[("passed", date(2024, 12, 20))])
    wake_at(MORNING)
    happened(one, [("passed", date(2026, 1, 5))], as_of=date(2026, 1, 5))
    wake_at(MORNING + timedelta(days=10))
    assert Notice.objects.filter(rung="second-overdue").count() == 0


def test_the_schedule_is_kept_once_however_often_it_is_asked_for() -> None:
    first = ensure_wake_ups(now=MORNING)
    again = ensure_wake_ups(now=MORNING + timedelta(minutes=1))
    Schedule.objects.create(func=TASK, name="a twin", schedule_type=Schedule.MINUTES, minutes=5)
    third = ensure_wake_ups(now=MORNING + timedelta(minutes=2))
    assert first.pk == again.pk == third.pk
    assert [(row.minutes, row.next_run) for row in Schedule.objects.all()] == [(10, MORNING)]


def test_a_wake_up_set_far_ahead_by_a_wrong_clock_comes_now() -> None:
    ensure_wake_ups(now=MORNING + timedelta(days=365))
    assert ensure_wake_ups(now=MORNING).next_run == MORNING


def test_the_queue_and_the_settings_agree_that_a_missed_slot_is_not_caught_up(
    settings: Any,
) -> None:
    assert settings.Q_CLUSTER["catch_up"] is False
    assert settings.Q_CLUSTER["retry"] > settings.Q_CLUSTER["timeout"]


def test_the_task_of_the_queue_wakes_by_the_machine_s_clock(
    at_morning: time_machine.Traveller,
) -> None:
    live_office()
    assert wake() == "ran flats"
    assert DayRun.objects.get().as_of == date(2026, 1, 5)


def test_the_health_check_turns_red_when_a_day_was_not_run(
    client: Client, at_morning: time_machine.Traveller
) -> None:
    live_office()
    assert client.get("/healthz").status_code == 200  # its first day began half an hour ago
    at_morning.shift(timedelta(hours=1))
    assert client.get("/healthz").status_code == 503
    wake()
    answer = client.get("/healthz")
    assert (answer.status_code, answer.json()["clock"]) == (200, "no day is missing")
    at_morning.shift(timedelta(days=1))
    answer = client.get("/healthz")
    assert answer.status_code == 503
    assert answer.json()["clock"] == (
        "the day 2026-01-06 was not run; the last one run is 2026-01-05"
    )
    at_morning.shift(timedelta(days=-3))
    assert "stands before the last run" in client.get("/healthz").json()["clock"]


def test_a_day_that_stopped_with_a_problem_counts_as_not_run(
    client: Client, at_morning: time_machine.Traveller
) -> None:
    program = live_office()
    at_morning.shift(timedelta(hours=1))
    DayRun.objects.create(
        program=program,
        as_of=date(2026, 1, 5),
        started_at=MORNING,
        finished_at=MORNING,
        problem="stopped",
    )
    assert client.get("/healthz").status_code == 503


def test_trials_and_an_empty_house_are_healthy(client: Client) -> None:
    office()
    assert client.get("/healthz").status_code == 200


def test_the_command_says_what_would_be_woken(
    at_morning: time_machine.Traveller, capsys: pytest.CaptureFixture[str]
) -> None:
    live_office()
    call_command("clock", "--wind", "--json")
    said = json.loads(capsys.readouterr().out)
    assert said["next_wake_up"] == "2026-01-05T13:30:00+00:00"
    assert said["programs"] == [
        {
            "program": "flats",
            "zone": "America/Los_Angeles",
            "local_time": "2026-01-05T05:30-08:00",
            "day_begins_at": "05:00",
            "last_run_on": None,
            "would_run": "2026-01-05",
            "why": "not run yet",
            "fault": None,
        }
    ]
    at_morning.shift(timedelta(hours=1))
    with pytest.raises(SystemExit) as ended:
        call_command("clock")
    assert ended.value.code == 1  # a fault is told by the exit code
    assert "the day 2026-01-05 was not run; none was ever run." in capsys.readouterr().out
    wake()
    call_command("clock")
    assert "flats: would run 2026-01-05 (what arrived since)" in capsys.readouterr().out


TWO_CLUSTERS = """
from tests.notices.offices import district
from datetime import date
program = district(24)
program.is_trial = False
program.go_live_on = date(2026, 1, 1)
program.letters_a_day = None
program.save()
"""
COUNT = """
from notices.models import Notice, Letter
from collections import Counter
keys = Counter(Notice.objects.values_list("matter_key", "rung", "occurrence"))
print("counted", Notice.objects.count(), max(keys.values()), Letter.objects.count())
"""
WAKE = """
from datetime import datetime, UTC
from notices.actions.day import run_day as run_the_day
from notices.actions.waking import wake_programs
wake_programs(clock=lambda: datetime(2026, 1, 5, 20, tzinfo=UTC))
"""


def shell(code: str, *, database: str) -> str:
    return run_manage("shell", "--no-imports", "-c", code, database=database).stdout


@pytest.mark.slow
def test_two_wake_ups_at_once_say_each_thing_once(own_database: str) -> None:
    shell(TWO_CLUSTERS, database=own_database)
    both = [
        start_manage("shell", "--no-imports", "-c", WAKE, database=own_database) for _ in range(2)
    ]
    for one in both:
        one.communicate(timeout=120)
    assert [one.returncode for one in both] == [0, 0]
    once = shell(COUNT, database=own_database).split("counted")[1].split()
    shell(WAKE, database=own_database)
    again = shell(COUNT, database=own_database).split("counted")[1].split()
    assert int(once[0]) > 0
    assert once[1] == "1"
    assert once == again


@pytest.mark.slow
def test_a_wake_up_killed_half_way_is_completed_by_a_later_one(own_database: str) -> None:
    shell(TWO_CLUSTERS, database=own_database)
    killed = start_manage("shell", "--no-imports", "-c", WAKE, database=own_database)
    time.sleep(1.6)
    killed.kill()
    killed.communicate(timeout=120)
    later = WAKE.replace("5, 20,", "5, 21,")
    shell(later, database=own_database)
    disturbed = shell(COUNT, database=own_database).split("counted")[1].split()
    shell(later, database=own_database)
    assert disturbed == shell(COUNT, database=own_database).split("counted")[1].split()
    assert disturbed[1] == "1"
