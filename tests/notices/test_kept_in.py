"""Quiet days and holds told beforehand: on the preview, and where a run is said to be mailed."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
import time_machine
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.actions.pacing import end_hold, hold_all_letters, keep_quiet
from notices.actions.preview import preview_day
from notices.delivery.paper_runs import make_run
from notices.domain.pacing import Span
from notices.models import Letter, Notice, PaperRun
from notices.queries.pacing import days_kept_in
from notices.queries.waiting import waiting_letters
from registry.changes import Hand
from registry.models import Membership, Program
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
HAND = Hand(by="Iva Brandt", at=NOW, reason="The press is broken")
DAY = timedelta(days=1)


def overdue(program: Program, number: int = 1, **changes: Any) -> None:
    place = premises(program, number, of=owner(program, f"Owner {number}"))
    assembly(place, f"S{number}", facts=(("passed", date(2024, 12, 1)),), **changes)


def client_of(program: Program) -> Client:
    user = get_user_model().objects.create_user(username="ada", password="x", last_name="Birch")
    Membership.objects.create(user=user, role="administrator", program=program)
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def live() -> Program:
    return office(is_trial=False, go_live_on=START)


# --- the preview ------------------------------------------------------------------------------


def test_the_preview_says_that_quiet_days_keep_letters_in_and_until_when() -> None:
    program = live()
    overdue(program)
    keep_quiet(program=program, first=START, last=START + DAY, why="Founders' days", hand=HAND)
    said = preview_day(program=program, as_of=START, now=NOW)
    assert (said.letters, said.is_held) == (1, False)
    assert "Founders' days" in said.kept_in
    assert said.leaves_on == START + 2 * DAY
    run_day(program=program, as_of=START, now=NOW)
    assert Letter.objects.get().mailing_on == said.leaves_on
    assert preview_day(program=program, as_of=START + 2 * DAY, now=NOW).kept_in == ""


def test_the_page_and_the_command_say_it_too() -> None:
    program = office()  # a trial: today is the day of its last run
    run_day(program=program, as_of=START, now=NOW)
    overdue(program)
    on = START + 10 * DAY
    keep_quiet(program=program, first=on, last=on, why="The move", hand=HAND)
    page = client_of(program).get(f"/p/flats/letters/next-run/?on={on}").content.decode()
    out = StringIO()
    call_command("run_day", "--program", "flats", "--as-of", f"{on}", "--preview", stdout=out)
    for told in (page, out.getvalue()):
        assert "No letter leaves on that day" in told
        assert "The move" in told
    out = StringIO()
    call_command(
        "run_day", "--program", "flats", "--as-of", f"{on}", "--preview", "--json", stdout=out
    )
    said = json.loads(out.getvalue())
    assert "The move" in said["kept_in"]
    assert said["leaves_on"] == f"{on + DAY}"
    assert not Notice.objects.exists()


def test_while_all_letters_are_held_the_preview_says_so() -> None:
    program = live()
    overdue(program)
    hold_all_letters(program=program, until=START + 4 * DAY, today=START, hand=HAND)
    said = preview_day(program=program, as_of=START, now=NOW)
    assert said.is_held
    assert "The press is broken" in said.kept_in
    assert said.leaves_on == START + 5 * DAY


# --- the day a run was mailed -------------------------------------------------------------------


def made_run(program: Program) -> PaperRun:
    overdue(program)
    run_day(program=program, as_of=START, now=NOW)
    day = Day(program=program, on=START, at=NOW)
    return make_run(program=program, channel="mail", day=day, hand=HAND)


def test_a_run_said_to_be_mailed_on_a_quiet_day_is_asked_about_first() -> None:
    program = live()
    run = made_run(program)
    on = START + DAY
    keep_quiet(program=program, first=on, last=on, why="Founders' day", hand=HAND)
    client, where = client_of(program), f"/p/flats/paper/{run.pk}/"
    page = client.get(where).content.decode()
    assert "No letter was meant to leave" in page
    assert "Founders&#x27; day" in page
    answer = client.post(f"{where}mailed/", {"on": f"{on}"}, follow=True).content.decode()
    assert "A quiet day of the office" in answer
    run.refresh_from_db()
    assert run.mailed_on is None
    assert not Letter.objects.filter(left_on__isnull=False).exists()
    client.post(f"{where}mailed/", {"on": f"{on}", "all_the_same": "yes"})
    run.refresh_from_db()
    assert run.mailed_on == on
    assert Letter.objects.get().left_on == on


def test_the_page_of_runs_says_that_today_is_quiet() -> None:
    program = live()
    overdue(program)
    run_day(program=program, as_of=START, now=NOW)
    keep_quiet(program=program, first=START, last=START, why="The move", hand=HAND)
    with time_machine.travel(datetime(2026, 1, 5, 20, tzinfo=UTC), tick=False):
        page = client_of(program).get("/p/flats/paper/").content.decode()
    assert "Today is a quiet day:" in page
    assert "The move" in page


def test_another_day_asks_nothing_and_without_quiet_days_nothing_is_said() -> None:
    program = live()
    run = made_run(program)
    client, where = client_of(program), f"/p/flats/paper/{run.pk}/"
    assert "No letter was meant to leave" not in client.get(where).content.decode()
    keep_quiet(program=program, first=START + DAY, last=START + DAY, why="quiet", hand=HAND)
    client.post(f"{where}mailed/", {"on": f"{START + 2 * DAY}"})
    run.refresh_from_db()
    assert run.mailed_on == START + 2 * DAY


def test_a_hold_that_was_ended_sooner_counts_only_while_it_stood() -> None:
    program = live()
    hold_all_letters(program=program, until=START + 9 * DAY, today=START, hand=HAND)
    end_hold(program=program, today=START + 2 * DAY, hand=HAND)
    keep_quiet(program=program, first=START + 4 * DAY, last=START + 4 * DAY, why="q", hand=HAND)
    kept = days_kept_in(program, first=START, last=START + 30 * DAY)
    assert [(one.days, one.is_hold) for one in kept] == [
        (Span(START, START + DAY), True),
        (Span(START + 4 * DAY, START + 4 * DAY), False),
    ]
    assert days_kept_in(program, first=START + 2 * DAY, last=START + 3 * DAY) == ()


# --- what waits -----------------------------------------------------------------------------------


def test_more_that_waits_makes_no_more_queries() -> None:
    program = office(letters_a_day=1)
    counts = []
    for start, end in ((0, 4), (4, 40)):
        for number in range(start, end):
            overdue(program, number)
        run_day(program=program, as_of=START, now=NOW)
        with CaptureQueriesContext(
            connection,
        ) as found:
            said = waiting_letters(program, today=START, now=NOW)
        assert said.letters == end - 1  # one a day went
        counts.append(len(found))
    assert counts[0] == counts[1] < 40, counts
