"""Day D as now known and as then known, through the stored side: what is learned later cannot
change what was known, and letters that left went on that."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from notices.actions.day import run_day
from notices.models import Notice
from notices.queries.left_then import left_then
from notices.queries.letter_day import letter_day
from registry.models import Assembly, Program
from registry.moments import end_of_day
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.loading.exports import export_rows
from scheduling.models import Fact
from scheduling.queries.standings import explain_assembly
from tests.access.addresses import address
from tests.access.cast import TODAY, made_cast
from tests.access.test_matrix import BACKEND
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

ZERO = date(2024, 1, 1)
KINDS = st.sampled_from(
    [
        FactKind.PASSED,
        FactKind.FAILED,
        FactKind.REPAIRED,
        FactKind.RELOCATED,
        FactKind.IDLED,
        FactKind.RESUMED,
    ]
)
TOLD = st.lists(st.tuples(KINDS, st.integers(0, 700), st.integers(0, 60)), min_size=1, max_size=8)
"""Kind, day it happened, and how many days later it was recorded."""


def day_of(number: int) -> date:
    return ZERO + timedelta(days=number)


def noon(day: date) -> datetime:
    return datetime.combine(day, time(20), tzinfo=UTC)


def record(one: Assembly, kind: FactKind, on: date, *, at: date) -> Fact:
    fact = NewFact(assembly_id=one.pk, kind=kind, on=on)
    return record_facts(program=one.program, facts=[fact], recorded_at=noon(at), by="x")[0]


def asked(one: Assembly, *, day: date, known_on: date | None) -> Any:
    """Standing, dates, rung and reasons, and the exported row, on a day."""
    known_at = end_of_day(one.program, known_on)
    said = explain_assembly(assembly=one, as_of=day, known_at=known_at).to_json()
    rows = list(export_rows(program=one.program, as_of=day, known_at=known_at))
    return said, rows


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(told=TOLD, day=st.integers(30, 760), late=TOLD, withdrawn=st.sets(st.integers(0, 7)))
def test_what_is_recorded_or_withdrawn_later_never_changes_a_day_as_then_known(
    told: list[tuple[FactKind, int, int]],
    day: int,
    late: list[tuple[FactKind, int, int]],
    withdrawn: set[int],
) -> None:
    with transaction.atomic():
        program = office()
        Program.objects.update(created_at=noon(ZERO))
        one = assembly(premises(program, of=None))
        Assembly.objects.update(created_at=noon(ZERO))
        one.refresh_from_db()
        that_day = day_of(day)
        for kind, on, later in told:
            if on + later <= day:
                record(one, kind, day_of(on), at=day_of(on + later))
        facts = list(Fact.objects.order_by("pk"))
        replay_assemblies(program=program, assembly_ids=[one.pk], as_of=that_day)
        before = asked(one, day=that_day, known_on=that_day)
        assert before == asked(one, day=that_day, known_on=None)  # nothing was learned yet

        after_it = that_day + timedelta(days=3)
        for kind, on, _ in late:
            record(one, kind, min(day_of(on), that_day), at=after_it)
        ids = [fact.pk for at, fact in enumerate(facts) if at in withdrawn]
        withdraw_facts(program=program, fact_ids=ids, at=noon(after_it), reason="wrong", by="x")
        replay_assemblies(program=program, assembly_ids=[one.pk], as_of=after_it)

        assert asked(one, day=that_day, known_on=that_day) == before
        live = set(Fact.objects.filter(withdrawn_at=None).values_list("kind", "on"))
        now = explain_assembly(assembly=one, as_of=that_day).to_json()
        Fact.objects.filter(withdrawn_at__isnull=False).delete()
        assert set(Fact.objects.values_list("kind", "on")) == live
        assert explain_assembly(assembly=one, as_of=that_day).to_json() == now
        transaction.set_rollback(True)


def test_a_late_report_changes_the_day_as_now_known_and_not_as_then_known() -> None:
    # Passed 2024-09-04, yearly, due 2025-09-04: overdue on 2026-01-05. A report of 2025-08-20
    # comes in on 2026-01-08: as now known it was good that day, as then known overdue.
    program, one = overdue()
    record(one, FactKind.PASSED, date(2025, 8, 20), at=date(2026, 1, 8))
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=date(2026, 1, 8))
    assert asked(one, day=START, known_on=None)[0]["standing"] == "good"
    then, rows = asked(one, day=START, known_on=START)
    assert (then["standing"], then["due_on"]) == ("overdue", "2025-09-04")
    assert (rows[0]["standing"], rows[0]["last_passed_on"]) == ("overdue", date(2024, 9, 4))


def overdue() -> tuple[Program, Assembly]:
    program = office()
    one = assembly(premises(program, of=owner(program)), facts=[])
    record(one, FactKind.PASSED, date(2024, 9, 4), at=date(2026, 1, 5))
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=START)
    return program, one


def test_the_page_of_a_day_says_why_a_letter_was_owed_though_a_report_came_later() -> None:
    program, one = overdue()
    run_day(program=program, as_of=START, now=noon(START))
    record(one, FactKind.PASSED, date(2025, 8, 20), at=date(2026, 1, 8))
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=date(2026, 1, 8))
    said = letter_day(assembly=one, day=START)
    assert said.said == "A first overdue letter was owed and left that day."
    rungs = {each.account.rung: each for each in said.rungs}
    assert rungs["first-overdue"].account.verdict == "owed"
    assert rungs["first-overdue"].letter_number
    assert rungs["reminder"].account.verdict == "passed over"
    assert said.has_changed
    assert said.standing_now_known == "good"
    assert [fact.on for fact in said.learned_later] == [date(2025, 8, 20)]


def test_the_days_around_say_why_none_was_owed() -> None:
    program, one = overdue()
    run_day(program=program, as_of=START, now=noon(START))
    after = letter_day(assembly=one, day=START + timedelta(days=1))
    assert after.said.startswith("No letter was owed: the next, second overdue, comes")
    left = {each.account.rung: each.account.verdict.value for each in after.rungs}
    assert left["first-overdue"] == "left"


def test_a_day_that_was_not_run_and_a_program_not_live_are_told() -> None:
    _, one = overdue()
    assert "the day was not run" in letter_day(assembly=one, day=START).said
    Program.objects.update(is_trial=False)
    one = Assembly.objects.select_related("program").get(pk=one.pk)
    assert "the program was not live" in letter_day(assembly=one, day=START).said


def test_letters_that_left_stay_when_the_fact_behind_them_is_withdrawn() -> None:
    program, one = overdue()
    failed = record(one, FactKind.FAILED, date(2026, 1, 2), at=START)
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=START)
    run_day(program=program, as_of=START, now=noon(START))
    left = Notice.objects.get()
    assert left.rung == "repair"
    later = date(2026, 1, 9)
    withdraw_facts(
        program=program, fact_ids=[failed.pk], at=noon(later), reason="wrong assembly", by="x"
    )
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=later)
    left.refresh_from_db()
    assert left.left_on == START
    then = letter_day(assembly=one, day=START)
    assert then.said == "A repair letter was owed and left that day."
    assert [fact.withdrawn_reason for fact in then.withdrawn_later] == ["wrong assembly"]
    rungs = {
        r.rung
        for rungs in left_then(assembly=one, by=START, known_on=START).values()
        for r in rungs
    }
    assert rungs == {"repair"}


def test_the_assembly_page_names_the_letters_that_went_on_a_withdrawn_fact(
    client: Client,
) -> None:
    cast = made_cast()
    home = cast.home
    client.force_login(cast.people["clerk"], backend=BACKEND)  # type: ignore[arg-type]
    fact = Fact.objects.filter(assembly=home.ids["assembly"]).order_by("pk")[0]
    Notice.objects.filter(assembly=home.ids["assembly"], rung="first-overdue").update(left_on=TODAY)
    where = address("assembly", home)
    assert "on what was then known" not in client.get(where).content.decode()
    withdraw = address("fact-withdraw", home)
    client.post(withdraw, {"reason": "Another assembly’s plate."})
    fact.refresh_from_db()
    assert fact.withdrawn_at
    page = client.get(where).content.decode()
    assert "While it stood, on what was then known" in page
    assert f"{address('assembly-letters', home)}?on={TODAY}" in page
    day = client.get(address("assembly-letters", home), {"on": str(TODAY)})
    assert day.status_code == 200


@pytest.mark.parametrize("day", ["", "nonsense", "0001-01-01", "9999-12-31", "2025-02-29"])
def test_the_page_of_a_day_takes_any_words_for_a_day(client: Client, day: str) -> None:
    cast = made_cast()
    client.force_login(cast.people["auditor"], backend=BACKEND)  # type: ignore[arg-type]
    page = client.get(address("assembly-letters", cast.home), {"on": day})
    assert page.status_code == 200


def said_by(capsys: pytest.CaptureFixture[str], *args: str) -> Any:
    call_command(*args)
    return json.loads(capsys.readouterr().out)


def test_explain_and_export_take_both_days(capsys: pytest.CaptureFixture[str]) -> None:
    program, one = overdue()
    record(one, FactKind.PASSED, date(2025, 8, 20), at=date(2026, 1, 8))
    replay_assemblies(program=program, assembly_ids=[one.pk], as_of=date(2026, 1, 8))
    asks = ("--program", "flats", "--as-of", "2026-01-06")
    explain = ("explain", "S1", *asks, "--json")
    assert said_by(capsys, *explain)["standing"] == "good"
    assert said_by(capsys, *explain, "--known-at", "2026-01-06")["standing"] == "overdue"
    assert said_by(capsys, *explain, "--known-at", "2026-01-08")["standing"] == "good"
    export = ("export_registry", *asks, "--format", "json")
    assert said_by(capsys, *export)[0]["standing"] == "good"
    then = said_by(capsys, *export, "--known-at", "2026-01-06")
    assert (then[0]["standing"], then[0]["due_on"]) == ("overdue", "2025-09-04")
    assert said_by(capsys, *export, "--known-at", "2025-01-01") == []
