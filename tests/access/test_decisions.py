"""Decisions for a group: seen before they are kept, ended as one, looked at again, never half."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

import pytest
from django.test import Client

from registry.models import Assembly, Premises, Question, ServiceConnection
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.models import AssemblyState, Decision, Fact
from tests.access.addresses import address
from tests.access.cast import AT, TODAY, Office, made_cast
from tests.access.test_matrix import BACKEND

GROUP = {"street": "Weir L", "service": "any"}
HOLD = {
    "kind": "held",
    "on": "2026-11-20",
    "until": "2027-06-30",
    "name": "Weir Lane under repair",
    "approved_by": "J. Marsh, board",
    "reason": "the street is open",
}


@pytest.fixture
def office(db: None, client: Client) -> Office:
    cast = made_cast()
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    return cast.home


@pytest.fixture
def neighbours(office: Office) -> list[Assembly]:
    """Three more assemblies on the street, each last passed half a year or more ago."""
    site = Premises.objects.get(pk=office.ids["premises"])
    made = []
    for number, passed in enumerate((date(2026, 5, 30), date(2026, 6, 30), date(2025, 6, 30))):
        twin = Premises.objects.create(
            program=office.program,
            address=f"{80 + number} Weir Ln",
            city=site.city,
            key=f"k{number}",
        )
        service = ServiceConnection.objects.create(premises=twin, kind="domestic")
        one = Assembly.objects.create(
            program=office.program, premises=twin, connection=service, type="RP",
            serial=f"W{number}", serial_key=f"W{number}", hazard="high", size_in=1, created_at=AT,
        )  # fmt: skip
        fact = NewFact(assembly_id=one.pk, kind=FactKind.PASSED, on=passed)
        record_facts(program=office.program, facts=[fact], recorded_at=AT, by="test")
        made.append(one)
    replay_assemblies(
        program=office.program, assembly_ids=[one.pk for one in made], as_of=TODAY, at=AT
    )
    return made


def due(one: Assembly) -> date | None:
    return AssemblyState.objects.get(assembly=one).due_on


def decided(client: Client, office: Office, told: Mapping[str, object]) -> Decision:
    where = address("decision-new", office)
    page = client.post(where, {**told, "act": "look"}).content.decode()
    seen = re.search(r'name="seen" value="(\w+)"', page)
    assert seen, page[-3000:]
    answer = client.post(where, {**told, "act": "decide", "seen": seen[1]})
    assert answer.status_code == 302, answer.content.decode()[-3000:]
    return Decision.objects.get(pk=int(answer["Location"].rstrip("/").rsplit("/", 1)[1]))


def test_a_hold_of_a_street_is_shown_before_it_is_kept(
    client: Client, office: Office, neighbours: list[Assembly]
) -> None:
    facts = Fact.objects.count()
    page = client.post(
        address("decision-new", office), {**GROUP, **HOLD, "act": "look"}
    ).content.decode()
    for one in neighbours:
        assert one.serial in page
    # plain-rolling: an RP on high hazard is due six months after the last pass; 2026-11-30 lies
    # in the hold and moves to its last day, 2026-06-30's half year lies in it too
    assert re.search(r"Jun\s30,?\s2027", page)
    assert Fact.objects.count() == facts
    assert not Decision.objects.filter(kind="held").exists()


def test_a_hold_is_kept_for_all_and_lifted_early_as_one(
    client: Client, office: Office, neighbours: list[Assembly]
) -> None:
    before = [due(one) for one in neighbours]
    # plain-rolling, rule 4: six months after the last pass
    assert before == [date(2026, 11, 30), date(2026, 12, 30), date(2025, 12, 30)]
    out = office.ids["assembly"]
    row = decided(client, office, {**GROUP, **HOLD, "without": out})
    assert sorted(row.members.values_list("assembly_id", flat=True)) == [o.pk for o in neighbours]
    # what falls due inside the hold waits for its last day; what was overdue before stays so
    assert [due(one) for one in neighbours] == [
        date(2027, 6, 30),
        date(2027, 6, 30),
        date(2025, 12, 30),
    ]
    where = address("decision-end", office).replace(f"/{office.ids['decision']}/", f"/{row.pk}/")
    client.post(where, {"on": "2026-12-10", "reason": "the pipe is mended"})
    row.refresh_from_db()
    assert (row.ended_on, row.ended_reason) == (date(2026, 12, 10), "the pipe is mended")
    # the hold ends on 10 December: 30 November still waits for it, 30 December does not
    assert [due(one) for one in neighbours] == [
        date(2026, 12, 10),
        date(2026, 12, 30),
        date(2025, 12, 30),
    ]


def test_an_extension_ended_at_once_gives_back_the_old_due_date(
    client: Client, office: Office, neighbours: list[Assembly]
) -> None:
    told = {**HOLD, "kind": "extended", "until": "2027-03-01", "serials": "W0", "service": "any"}
    row = decided(client, office, told)
    member = row.members.get()
    assert (member.due_before, member.due_after) == (date(2026, 11, 30), date(2027, 3, 1))
    where = address("decision-end", office).replace(f"/{office.ids['decision']}/", f"/{row.pk}/")
    client.post(where, {"on": "2026-11-25", "reason": "asked for by mistake"})
    assert due(neighbours[0]) == date(2026, 11, 30)
    assert not Fact.objects.filter(kind="extended", withdrawn_at=None).exists()


def test_one_overdue_that_is_put_to_idle_goes_to_a_person_and_comes_up_on_its_review_day(
    client: Client, office: Office, neighbours: list[Assembly]
) -> None:
    told = {**HOLD, "kind": "idled", "on": "2026-11-24", "until": "2026-11-26", "serials": "W2",
            "service": "any", "reason": "valve is shut"}  # fmt: skip
    row = decided(client, office, told)
    question = Question.objects.get(assembly=neighbours[2], settled_at=None)
    assert "put to idle on 2026-11-24 while overdue since 2025-12-30" in question.text
    today = address("today", office)
    assert "to look at again" not in client.get(today).content.decode()
    Decision.objects.filter(pk=row.pk).update(until=TODAY)
    assert "to look at again" in client.get(today).content.decode()
    where = address("decision-review", office).replace(f"/{office.ids['decision']}/", f"/{row.pk}/")
    client.post(where, {"until": "2027-05-01", "reason": "still shut"})
    assert "to look at again" not in client.get(today).content.decode()
    live = Fact.objects.get(kind="idled", withdrawn_at=None)
    assert live.detail["until"] == "2027-05-01"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"until": ""}, "has no end"),
        ({"until": "2026-11-01"}, "before it begins"),
        ({"on": "2026-12-01", "kind": "extended"}, "after 2026-11-25"),
        ({"approved_by": ""}, "Approved by is needed"),
        ({"reason": ""}, "Reason is needed"),
        ({"until": "2999-01-01"}, "outside 1900 to 2200"),
    ],
)
def test_a_decision_that_cannot_be_is_refused_whole(
    client: Client, office: Office, neighbours: list[Assembly], wrong: dict[str, str], said: str
) -> None:
    facts, where = Fact.objects.count(), address("decision-new", office)
    told = {**GROUP, **HOLD}
    seen = re.search(r'name="seen" value="(\w+)"', client.post(where, told).content.decode())
    assert seen
    page = client.post(where, {**told, **wrong, "act": "decide", "seen": seen[1]})
    assert page.status_code == 200
    assert said in page.content.decode()
    assert Fact.objects.count() == facts
    assert not Decision.objects.filter(kind="held").exists()


def test_a_list_that_changed_since_it_was_seen_is_shown_again(
    client: Client, office: Office, neighbours: list[Assembly]
) -> None:
    told = {**GROUP, **HOLD, "act": "decide", "seen": "0" * 16}
    page = client.post(address("decision-new", office), told)
    assert "changed since you looked" in page.content.decode()
    assert not Decision.objects.filter(kind="held").exists()


def test_who_is_in_it_goes_out_as_a_sheet(
    client: Client, office: Office, neighbours: list[Assembly]
) -> None:
    answer = client.get(address("decision-new", office), {**GROUP, "as": "csv"})
    lines = answer.content.decode().splitlines()
    assert lines[0].startswith("serial,maker,type,address")
    assert {line.split(",")[0] for line in lines[1:]} == {"A100", "W0", "W1", "W2"}


@pytest.mark.parametrize(
    ("kind", "until", "ended_by"),
    [
        ("idled", "2027-05-01", "resumed"),
        ("exempted", "2027-05-01", "included"),
        ("stopped", "", "restarted"),
    ],
)
def test_what_has_no_last_day_ends_by_a_fact_for_all_in_it(
    client: Client,
    office: Office,
    neighbours: list[Assembly],
    kind: str,
    until: str,
    ended_by: str,
) -> None:
    out = office.ids["assembly"]
    told = {**GROUP, **HOLD, "kind": kind, "on": "2026-11-20", "until": until, "without": out}
    row = decided(client, office, told)
    withdrawn = row.members.order_by("pk")[0]
    where = address("fact-withdraw", office).replace(
        f"/{office.ids['fact']}/", f"/{withdrawn.fact_id}/"
    )
    client.post(where, {"reason": "not this one"})
    where = address("decision-end", office).replace(f"/{office.ids['decision']}/", f"/{row.pk}/")
    refused = client.post(where, {"on": "2026-11-26", "reason": "over"}).content.decode()
    assert "has not come yet" in refused
    client.post(where, {"on": "2026-11-24", "reason": "over"})
    ends = Fact.objects.filter(kind=ended_by, on=date(2026, 11, 24))
    assert set(ends.values_list("assembly_id", flat=True)) == {
        one.pk for one in neighbours if one.pk != withdrawn.assembly_id
    }
    states = AssemblyState.objects.filter(assembly__in=[one.pk for one in neighbours])
    assert not states.exclude(idle_since=None).exists()
    assert not states.filter(is_exempt=True).exists()
    again = client.post(where, {"on": "2026-11-25", "reason": "twice"}, follow=True)
    assert "It has ended already" in again.content.decode()
    assert ends.count() == len(neighbours) - 1


def test_the_dates_of_a_large_group_follow_in_chunks_while_a_person_watches(
    client: Client, office: Office, neighbours: list[Assembly], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.actions.by_hand.decisions.MOST_AT_ONCE", 2)
    monkeypatch.setattr("scheduling.actions.by_hand.carrying.CHUNK", 2)
    monkeypatch.setattr("scheduling.views.decisions.SECONDS", 0.0)
    before = [due(one) for one in neighbours]
    row = decided(client, office, {**GROUP, **HOLD, "without": office.ids["assembly"]})
    assert Fact.objects.filter(kind="held", withdrawn_at=None).count() == 3
    assert [due(one) for one in neighbours] == before
    where = address("decision", office).replace(f"/{office.ids['decision']}/", f"/{row.pk}/")
    assert "The dates of 0 of 3" in re.sub(r"\s", " ", client.get(where).content.decode())
    onward = address("decision-carry-on", office).replace(
        f"/{office.ids['decision']}/", f"/{row.pk}/"
    )
    client.post(onward)
    assert "The dates of 2 of 3" in re.sub(r"\s", " ", client.get(where).content.decode())
    client.post(onward)
    client.post(onward)
    row.refresh_from_db()
    assert row.replay_on is None
    assert "data-goes-on" not in client.get(where).content.decode()
    assert [due(one) for one in neighbours] == [
        date(2027, 6, 30),
        date(2027, 6, 30),
        date(2025, 12, 30),
    ]


def test_a_hold_that_begins_on_a_day_to_come_says_so_and_changes_nothing_yet(
    client: Client, office: Office, neighbours: list[Assembly]
) -> None:
    before = [due(one) for one in neighbours]
    ahead = {**GROUP, **HOLD, "on": "2026-12-01", "without": office.ids["assembly"]}
    row = decided(client, office, ahead)
    assert [due(one) for one in neighbours] == before
    where = address("decision", office).replace(f"/{office.ids['decision']}/", f"/{row.pk}/")
    assert "until then nothing changes" in client.get(where).content.decode()
    end = address("decision-end", office).replace(f"/{office.ids['decision']}/", f"/{row.pk}/")
    client.post(end, {"on": "2026-11-25", "reason": "the work is called off"})
    row.refresh_from_db()
    assert (row.ended_on, row.replay_on) == (date(2026, 11, 25), None)
    assert not Fact.objects.filter(kind="held", withdrawn_at=None).exists()
