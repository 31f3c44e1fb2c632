"""What services and premises owe is stored, follows from what happens, and agrees with replay."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from registry.domain.kinds import Hazard
from registry.models import Premises, Program, Question, ServiceConnection
from registry.source_files import SourceFile
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.surveys import Survey, change_service, follow_premises, keep_survey
from scheduling.actions.enforcing import replay_for_new_rules
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_assemblies, replay_premises
from scheduling.domain.facts import FactKind
from scheduling.domain.ledger import Ledger
from scheduling.domain.place_replay import replay_premises as pure_premises
from scheduling.domain.place_replay import replay_service as pure_service
from scheduling.loading.customer_load import load_customers
from scheduling.models import Adoption, Fact, Obligation
from scheduling.queries.places import places, rules_of
from scheduling.queries.rulebooks import books_of
from tests.domain.scheduling.places.protection_rules import PRINTED_TEXT
from tests.scheduling.waterworks import (
    AT,
    START,
    hand,
    installed,
    lines,
    moment,
    served,
    surveyed,
    told,
    waterworks,
)

pytestmark = pytest.mark.django_db

BILLED = (
    "Acct,Customer,Svc Addr,City,ST,Zip,Class,Hazard,Service\n"
    "7-1,Larkspur Bakery,12 Larkspur Lane,Tamarack Flats,WA,99171,bakery,low,domestic\n"
    "7-2,Juniper Wash,14 Larkspur Lane,Tamarack Flats,WA,99171,car wash,low,domestic\n"
    "7-3,Fir Hall,16 Larkspur Lane,Tamarack Flats,WA,99171,hall,,fire\n"
)


@pytest.fixture
def program() -> Program:
    return waterworks()


def loaded(program: Program, on: date = START) -> int:
    report = load_customers(
        source=SourceFile(name="billing.csv", data=BILLED.encode()),
        program=program,
        as_of=on,
        now=moment(on),
        by="a test",
    )
    return report.base.created


def kept() -> list[tuple[object, ...]]:
    """Every stored obligation with its id and all that replay decides."""
    return list(
        Obligation.objects.order_by("pk").values_list(
            "pk", "connection_id", "premises_id", "origin", "period", "due_on", "opens_on",
            "opened_on", "closed_on", "closed_how", "next_action_on", "updated_at",
        )
    )  # fmt: skip


def test_a_customer_file_brings_accounts_that_owe_protection(program: Program) -> None:
    # WAC tables 12 and 13, Conn. Gen. Stat. 19a-37a: nothing stands there, so each lacks it;
    # 2 March + 30 days = 1 April
    assert loaded(program) == 3
    assert lines(program) == ["2026-03-02 due 2026-04-01"] * 3
    allowed = {
        row.connection.premises.account: row.detail["lacks"][0]["allowed"]
        for row in Obligation.objects.filter(kind="protection")
        if row.connection is not None
    }
    assert allowed == {
        "7-1": ["AG", "DC", "DCDA", "RP", "RPDA"],
        "7-2": ["AG", "RP"],
        "7-3": ["RP", "RPDA"],  # chemicals not recorded: the stricter
    }
    hazards = {
        row.detail["lacks"][0]["hazard"]
        for row in Obligation.objects.all()
        if row.detail.get("lacks")
    }
    assert hazards == {"low", "not assessed"}


def test_the_same_customer_file_again_changes_nothing(program: Program) -> None:
    loaded(program)
    open_obligations(program=program, as_of=START)
    before = kept()
    assert loaded(program) == 0
    replay_premises(program=program, premises_ids=None, as_of=START)
    assert kept() == before


def test_what_a_file_states_is_no_survey_so_one_is_owed(program: Program) -> None:
    # the teaching rulebook: no date known, 30 days from the day it was recorded
    loaded(program)
    assert lines(program, "survey") == ["2026-03-02 due 2026-04-01"] * 3


def test_a_survey_recorded_meets_the_survey_owed_and_sets_the_next(program: Program) -> None:
    # 35 IAC 604.1510: every 2 years; the book opens it 60 days before
    site = served(program).premises
    follow_premises(program=program, premises_ids=[site.pk], today=START)
    open_obligations(program=program, as_of=START)
    on = date(2026, 3, 20)
    keep_survey(premises=site, survey=Survey(on=on, hazard=Hazard.LOW), today=on, hand=hand(on))
    assert lines(program, "survey") == [
        "2026-03-02 due 2026-04-01 met 2026-03-20",
        "2028-01-20 due 2028-03-20",
    ]


def test_an_assembly_brought_or_taken_away_changes_what_its_service_owes(program: Program) -> None:
    service = served(program)
    surveyed(service.premises, "high", on=START)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    open_obligations(program=program, as_of=START)
    assembly = installed(service, "RP", on=date(2026, 3, 20))
    replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=date(2026, 3, 20))
    told(assembly, FactKind.REMOVED, on=date(2026, 5, 1))
    replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=date(2026, 5, 1))
    assert lines(program) == [
        "2026-03-02 due 2026-04-01 met 2026-03-20",
        "2026-05-01 due 2026-05-31",
    ]


def test_a_service_changed_by_hand_keeps_what_it_was(program: Program) -> None:
    service = served(program, kind="fire")
    ServiceConnection.objects.filter(pk=service.pk).update(has_chemicals=False)
    service.refresh_from_db()
    installed(service, "DC", on=START)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    assert lines(program) == []  # Conn. Gen. Stat. 19a-37a: a fire line without chemicals
    on = date(2026, 5, 11)
    change_service(
        premises=service.premises, connection=service, values={"has_chemicals": True, "name": ""},
        today=on, hand=hand(on),
    )  # fmt: skip
    assert lines(program) == ["2026-05-11 due 2026-06-10"]
    service.refresh_from_db()
    assert [was["has_chemicals"] for was in service.was] == [False]


def test_a_service_changed_from_an_earlier_day_counts_from_that_day(program: Program) -> None:
    # DC on a fire line without chemicals; with chemicals from 4 May, entered 11 May: due 3 June
    service = served(program, kind="fire")
    ServiceConnection.objects.filter(pk=service.pk).update(has_chemicals=False)
    service.refresh_from_db()
    installed(service, "DC", on=START)
    on = date(2026, 5, 11)
    change_service(
        premises=service.premises, connection=service, values={"has_chemicals": True, "name": ""},
        today=on, hand=hand(on), since=date(2026, 5, 4),
    )  # fmt: skip
    assert lines(program) == ["2026-05-04 due 2026-06-03"]


def test_a_survey_to_come_or_without_a_hazard_is_refused(program: Program) -> None:
    site = served(program).premises
    for survey in (Survey(on=date(2026, 3, 3), hazard=Hazard.LOW),
                   Survey(on=START, hazard=Hazard.NOT_ASSESSED)):  # fmt: skip
        with pytest.raises(RefusedChangeError):
            keep_survey(premises=site, survey=survey, today=START, hand=hand(START))
    assert not site.assessments.exists()


def test_a_closed_account_owes_nothing_more(program: Program) -> None:
    service = served(program)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    open_obligations(program=program, as_of=START)
    Premises.objects.update(account_closed_on=date(2026, 3, 12))
    follow_premises(program=program, premises_ids=[service.premises_id], today=date(2026, 3, 12))
    assert lines(program) == ["2026-03-02 due 2026-04-01 excused 2026-03-12"]


def test_a_rulebook_that_asks_nothing_of_premises_leaves_them_unread(
    django_assert_num_queries: Any,
) -> None:
    asks_nothing = PRINTED_TEXT.replace('"service connection"', '"assembly"')
    program = waterworks(text=asks_nothing.replace('subject = "premises"', 'subject = "assembly"'))
    served(program)
    with django_assert_num_queries(1):  # which rulebooks are in force
        assert replay_premises(program=program, premises_ids=None, as_of=START) == 0
    assert not Obligation.objects.exists()


def test_premises_are_read_in_chunks_and_how_far_it_is_is_told(
    program: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded(program)
    of = Premises.objects.filter(program=program).count()
    monkeypatch.setattr("scheduling.actions.replaying.PLACES_AT_ONCE", 2)
    told: list[tuple[int, int]] = []
    Adoption.objects.filter(program=program).update(awaits_replay=True)
    replay_for_new_rules(
        program=program, as_of=START, progress=lambda done, total: told.append((done, total))
    )
    places = [(done, total) for done, total in told if total == of]
    assert places == [(min(done + 2, of), of) for done in range(0, of, 2)]
    assert of > 2


def test_every_row_is_about_exactly_one_thing(program: Program) -> None:
    service = served(program)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    owed = Obligation.objects.filter(connection=service)
    for both in ({"premises": service.premises}, {"connection": None}):
        with pytest.raises(IntegrityError, match="one_subject"), transaction.atomic():
            owed.update(**both)
    with pytest.raises(IntegrityError, match="one_subject"), transaction.atomic():
        Fact.objects.create(program=program, kind="removed", on=START, recorded_at=AT)


@pytest.mark.parametrize("subject", ["connection", "premises"])
def test_a_subject_has_one_open_obligation_of_a_kind_and_each_once(
    program: Program, subject: str
) -> None:
    service = served(program)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    twin = Obligation.objects.get(**{f"{subject}__isnull": False})
    twin.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        twin.save(force_insert=True)
    open_obligations(program=program, as_of=START)
    twin.pk, twin.origin, twin.opened_on = None, "cycle:2026-01-01", START
    with pytest.raises(IntegrityError), transaction.atomic():
        twin.save(force_insert=True)
    twin.pk, twin.opened_on = None, None
    twin.save(force_insert=True)


def test_what_cannot_be_settled_is_asked_once_of_a_person(program: Program) -> None:
    service = served(program)
    Fact.objects.create(
        program=program, connection=service, kind="extended", on=START, recorded_at=AT,
        detail={"until": "2026-03-10"}, source="person",
    )  # fmt: skip
    for _ in range(2):
        follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    asked = Question.objects.get()
    assert asked.premises == service.premises
    assert "moves no due date later" in asked.text


# Stored replay is pure replay


def random_step(random: Random, service: ServiceConnection, *, on: date) -> None:
    """Let something happen at a premises on a day."""
    site = service.premises
    match random.randrange(8):
        case 0 | 1:
            surveyed(
                site, random.choice(("high", "low")), on=on - timedelta(days=random.randrange(9))
            )
        case 2 | 3:
            installed(service, random.choice(("RP", "DC", "PVB", "DCDA")), on=on)
        case 4:
            standing = service.assemblies.exclude(facts__kind="removed").first()
            if standing is not None:
                told(standing, FactKind.REMOVED, on=on)
        case 5:
            values = {"kind": random.choice(("domestic", "irrigation", "fire")), "name": "",
                      "has_chemicals": random.choice((True, False, None))}  # fmt: skip
            change_service(
                premises=site, connection=service, values=values, today=on, hand=hand(on)
            )
        case 6:
            kind = random.choice(("extended", "exempted", "included", "held"))
            until = on + timedelta(days=random.randrange(1, 90))
            Fact.objects.create(
                program=site.program, connection=service, kind=kind, on=on, recorded_at=moment(on),
                detail={"until": until.isoformat()} if kind in {"extended", "held"} else {},
            )  # fmt: skip
        case _:
            closed = None if site.account_closed_on else on
            Premises.objects.filter(pk=site.pk).update(account_closed_on=closed)
            site.refresh_from_db()


def stored(rows: list[Obligation]) -> set[tuple[object, ...]]:
    return {
        (row.kind, row.origin, row.period, row.opens_on, row.due_on, row.closed_on, row.closed_how,
         row.next_action_on)
        for row in rows
        if row.closed_how != "superseded"
    }  # fmt: skip


def found(ledger: Ledger) -> set[tuple[object, ...]]:
    return {
        (one.kind, one.key.origin_text, one.key.period_text, one.opens_on, one.due_on,
         one.closed_on, one.closed_how or "", ledger.next_actions.get(one.key))
        for one in (*ledger.obligations, *ledger.coming)
    }  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_what_is_stored_is_what_replay_finds_whatever_happens(program: Program, seed: int) -> None:
    random = Random(seed)
    service = served(program, kind=random.choice(("domestic", "fire", "irrigation", "")))
    on = START
    for _ in range(9):
        on += timedelta(days=random.randrange(0, 60))
        random_step(random, service, on=on)
        follow_premises(program=program, premises_ids=[service.premises_id], today=on)
        open_obligations(program=program, as_of=on)
        (place,) = places(program=program, premises_ids=[service.premises_id])
        rules = rules_of(program=program, books=books_of(program))
        service_said = pure_service(place=place, service=place.services[0], rules=rules, as_of=on)
        premises_said = pure_premises(place=place, rules=rules, as_of=on)
        assert stored(list(Obligation.objects.filter(connection=service))) == found(
            service_said.ledger
        )
        assert stored(list(Obligation.objects.filter(premises=service.premises))) == found(
            premises_said.ledger
        )
        before = kept()
        follow_premises(program=program, premises_ids=[service.premises_id], today=on)
        assert kept() == before
