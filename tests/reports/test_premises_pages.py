"""Pages of what premises owe: the list, the site, why, and the forms that change it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from notices.actions.day import run_day
from registry.domain.kinds import Role
from registry.models import Membership, Program
from reports.queries.today import needs_of
from scheduling.actions.opening import open_obligations
from scheduling.models import Fact, Obligation, ProgramClock
from tests.notices.test_place_letters import NOW, lacking
from tests.scheduling.waterworks import START, served, waterworks

pytestmark = pytest.mark.django_db

LATE = START + timedelta(days=40)
"""Forty days after 2 March: ten past the due date, 1 April."""


@pytest.fixture
def program() -> Program:
    return waterworks()


@pytest.fixture
def there(client: Client, program: Program) -> Client:
    user = get_user_model().objects.create_user("maren")
    Membership.objects.create(user_id=user.pk, role=Role.ADMINISTRATOR, program=program)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def stand_on(program: Program, day: date) -> None:
    """Let a trial program stand on a day."""
    run_day(program=program, as_of=day, now=NOW)
    assert ProgramClock.objects.get(program=program).last_run_on == day


def page(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, answer
    return answer.content.decode().replace("\N{NO-BREAK SPACE}", " ").replace("&nbsp;", " ")


def test_the_page_of_a_premises_says_what_its_services_lack_and_by_when(
    there: Client, program: Program
) -> None:
    service = lacking(program)
    stand_on(program, LATE)
    said = page(there, f"/p/works/premises/{service.premises_id}/")
    assert "Protection of the domestic service" in said
    assert "by 10 days. It was due April 1, 2026." in said
    assert "DC stands on the domestic connection against a high hazard" in said
    assert "RP, RPDA or AG is asked for." in said
    assert "WAC 246-290-490(4)(b), table 12" in said
    assert f"/p/works/premises/{service.premises_id}/owed/" in said


def test_why_is_one_click_away_with_every_rung_and_on_any_day(
    there: Client, program: Program
) -> None:
    service = lacking(program)
    stand_on(program, START)
    stand_on(program, LATE)
    where = f"/p/works/premises/{service.premises_id}/owed/"
    said = page(there, where)
    assert "Unprotected March 2, 2026 + 30 days = April 1, 2026" in said or (
        "unprotected March 2, 2026 + 30 days = April 1, 2026" in said
    )
    assert "First overdue notice" in said
    assert "Protection owed" in said
    assert "Test owed" not in said
    assert "left" in said
    before = page(there, f"{where}?as_of=2026-03-20")
    assert "As of March 20, 2026" in before
    assert "in 12 days. It is due April 1, 2026." in before
    assert "Nothing is owed of the premises itself" in page(
        there, f"{where}?as_of=2026-03-20&known_at=2026-03-01"
    )


def test_a_hazard_nobody_assessed_is_not_called_high_on_the_page(
    there: Client, program: Program
) -> None:
    service = served(program)
    said = there.post(
        f"/p/works/connections/{service.pk}/change/", {"kind": "fire", "name": ""}, follow=True
    ).content.decode()
    assert "No assembly stands on the fire connection against a hazard nobody has assessed" in said
    assert "high hazard" not in said


def test_the_list_finds_what_is_owed_and_premises_without_an_assembly(
    there: Client, program: Program
) -> None:
    lacking(program, 1)
    bare = served(program, 2)
    stand_on(program, LATE)
    owed = page(there, "/p/works/premises/")
    assert "1 Larch Court" in owed
    assert "10 days" in owed
    survey = page(there, "/p/works/premises/?show=survey")
    assert "No premises answers to that" in survey
    without = page(there, "/p/works/premises/?show=without&q=larch")
    assert "2 Larch Court" in without
    assert "1 Larch Court" not in without
    assert f"/p/works/premises/{bare.premises_id}/" in without
    assert "?show=without" in page(there, "/p/works/registry/")
    assert "No premises answers to that" in page(there, "/p/works/premises/?q=elsewhere")


def test_today_tells_what_is_past_its_day_and_leads_to_it(program: Program) -> None:
    lacking(program)
    open_obligations(program=program, as_of=START)
    on_time = [need.page for need in needs_of(program, today=START)]
    (need,) = [n for n in needs_of(program, today=LATE) if n.page == "premises-list"]
    assert "premises-list" not in on_time
    assert (need.count, need.since) == (1, date(2026, 4, 1))


def test_a_survey_recorded_on_the_form_changes_what_is_owed(
    there: Client, program: Program
) -> None:
    service = lacking(program)
    stand_on(program, LATE)
    where = f"/p/works/premises/{service.premises_id}/survey/"
    refused = there.post(where, {"on": "2026-04-12", "hazard": "low"})
    assert "is still to come" in refused.content.decode()
    kept = there.post(where, {"on": LATE.isoformat(), "hazard": "low", "finding": "An office."})
    assert kept.status_code == 302
    owed = Obligation.objects.get(kind="protection")
    assert (owed.closed_on, owed.closed_how) == (LATE, "excused")  # nobody installed anything
    told = page(there, f"/p/works/premises/{service.premises_id}/owed/")
    assert "Protection of the domestic service: excused" in told
    assert "a low hazard from April 11, 2026 asks for no more" in told


def test_a_service_disconnected_owes_nothing_more_and_an_extension_needs_its_approver(
    there: Client, program: Program
) -> None:
    service = lacking(program)
    stand_on(program, LATE)
    where = f"/p/works/connections/{service.pk}/fact/"
    half = there.post(where, {"kind": "extended", "on": LATE.isoformat()})
    assert "Name who approved it." in half.content.decode()
    assert not Fact.objects.filter(connection=service).exists()
    told = {"on": LATE.isoformat(), "reason": "The main is renewed.", "approved_by": "M. Director"}
    more = there.post(where, {**told, "kind": "extended", "until": "2026-06-01"})
    assert more.status_code == 302
    assert Obligation.objects.get(kind="protection").due_on == date(2026, 6, 1)
    there.post(where, {"kind": "removed", "on": LATE.isoformat(), "reason": "Cut at the main."})
    assert Obligation.objects.get(kind="protection").closed_how == "excused"
    again = there.post(where, {"kind": "removed", "on": LATE.isoformat()})
    assert "was disconnected on 2026-04-11" in again.content.decode()


def test_a_survey_is_extended_and_a_premises_exempted_by_a_named_person(
    there: Client, program: Program
) -> None:
    service = lacking(program)
    stand_on(program, LATE)
    where = f"/p/works/premises/{service.premises_id}/fact/"
    assert where in page(there, f"/p/works/premises/{service.premises_id}/owed/")
    survey = Obligation.objects.get(kind="survey", closed_on=None)
    later = survey.due_on + timedelta(days=60)
    told = {"on": LATE.isoformat(), "reason": "The road is closed.", "approved_by": "M. Director"}
    half = there.post(where, {**told, "kind": "held"})
    assert "has no end" in half.content.decode()
    assert not Fact.objects.filter(premises=service.premises).exists()
    there.post(where, {**told, "kind": "extended", "until": later.isoformat()})
    survey.refresh_from_db()
    assert survey.due_on == later
    review = {"until": "2027-04-11", "reason": "The house stands empty."}
    there.post(where, {**told, **review, "kind": "exempted"})
    assert not Obligation.objects.filter(kind="survey", closed_on=None).exists()
    assert Obligation.objects.filter(kind="protection", closed_on=None).exists()  # of the service


def test_a_fact_of_a_service_is_withdrawn_on_a_page_and_what_it_ended_is_owed_again(
    there: Client, program: Program
) -> None:
    service = lacking(program)
    stand_on(program, LATE)
    where = f"/p/works/connections/{service.pk}/fact/"
    there.post(where, {"kind": "removed", "on": LATE.isoformat(), "reason": "Cut at the main."})
    owed = Obligation.objects.get(kind="protection")
    assert owed.closed_how == "excused"
    fact = Fact.objects.get(connection=service)
    home = f"/p/works/premises/{service.premises_id}/owed/"
    assert f"/p/works/facts/{fact.pk}/withdraw/" in page(there, home)
    form = page(there, f"/p/works/facts/{fact.pk}/withdraw/")
    assert "Withdraw: removed, April 11, 2026" in form
    done = there.post(f"/p/works/facts/{fact.pk}/withdraw/", {"reason": "It was next door."})
    assert (done.status_code, done["Location"]) == (302, home)
    owed.refresh_from_db()
    assert (owed.closed_on, owed.due_on) == (None, date(2026, 4, 1))
    told = page(there, home)
    assert "It was next door." in told
    assert f"/p/works/facts/{fact.pk}/withdraw/" not in told
    again = there.post(f"/p/works/facts/{fact.pk}/withdraw/", {"reason": "x"}, follow=True)
    assert "withdrawn already" in again.content.decode()


def test_a_new_use_holds_from_its_day_and_the_days_before_answer_with_the_old_one(
    there: Client, program: Program
) -> None:
    """A mortuary owes more than an office (WAC 246-290-490, table 13): a DC is too little there."""
    service = lacking(program)
    site = service.premises
    there.post(f"/p/works/premises/{site.pk}/survey/", {"on": "2026-03-02", "hazard": "low"})
    assert not Obligation.objects.filter(kind="protection", closed_on__isnull=True).exists()
    stand_on(program, LATE)
    where = f"/p/works/premises/{site.pk}/change/"
    told = {"address": site.address, "city": site.city, "use": "Mortuary"}
    future = there.post(where, {**told, "use_since": "2026-05-01"}).content.decode()
    assert "has not come yet" in future
    same = there.post(where, {**told, "use": site.use, "use_since": "2026-03-20"}).content.decode()
    assert "The use is the one on record" in same
    assert there.post(where, {**told, "use_since": "2026-03-20"}).status_code == 302
    site.refresh_from_db()
    assert [entry["until"] for entry in site.was or ()] == ["2026-03-20"]
    owed = Obligation.objects.get(kind="protection", closed_on__isnull=True)
    assert (owed.opens_on, owed.due_on) == (date(2026, 3, 20), date(2026, 4, 19))  # + 30 days
    home = f"/p/works/premises/{site.pk}/owed/"
    assert "Protection of" not in page(there, f"{home}?as_of=2026-03-19")
    assert "Protection of the domestic service" in page(there, f"{home}?as_of=2026-03-20")
    earlier = there.post(where, {**told, "use": "office", "use_since": "2026-03-10"})
    assert "Its use changed on 2026-03-20 already" in earlier.content.decode()
