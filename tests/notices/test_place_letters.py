"""The run of a day on what premises and services owe: each rung once, in letters of their own."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from notices.actions.day import run_day
from notices.models import Letter, Notice
from notices.owner.pages import owner_page
from registry.domain.kinds import PartyRole
from registry.models import PremisesParty, Program, ServiceConnection
from scheduling.actions.by_hand.premises import name_party
from scheduling.actions.by_hand.surveys import follow_premises
from scheduling.domain.facts import FactKind
from scheduling.models import Obligation
from tests.notices.offices import owner
from tests.scheduling.waterworks import START, hand, installed, served, surveyed, told, waterworks

pytestmark = pytest.mark.django_db

NOW = datetime(2028, 6, 1, 17, tzinfo=UTC)
MANY_DAYS = [START + timedelta(days=number) for number in range(0, 75, 3)]


@pytest.fixture
def program() -> Program:
    return waterworks()


def lacking(program: Program, number: int = 1) -> ServiceConnection:
    """A domestic service behind DC at a premises surveyed high on 2 March 2026."""
    service = served(program, number)
    who = owner(program, f"Owner {number} <& Co>", language="es")
    PremisesParty.objects.create(premises=service.premises, party=who, role="owner")
    installed(service, "DC", on=START)
    surveyed(service.premises, "high", on=START)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    return service


def rungs(program: Program) -> list[tuple[str, str, date | None]]:
    rows = Notice.objects.filter(program=program, assembly__isnull=True)
    return [
        (one.obligation.kind if one.obligation else "", one.rung, one.left_on)
        for one in rows.select_related("obligation").order_by("recorded_on", "pk")
    ]


def run(program: Program, day: date) -> None:
    run_day(program=program, as_of=day, now=NOW)


def test_each_rung_leaves_once_on_its_day(program: Program) -> None:
    # due 2 March + 30 days = 1 April; the rung after the due date on 2 April
    lacking(program)
    for day in MANY_DAYS:
        run(program, day)
        run(program, day)
    assert rungs(program) == [
        ("protection", "test-owed", START),
        ("protection", "first-overdue", date(2026, 4, 4)),  # the first run after 1 April
    ]


def test_the_letter_asks_for_protection_and_names_its_recipient_as_it_is(program: Program) -> None:
    service = lacking(program)
    run(program, START)
    letter = Letter.objects.get(content__work="protection")
    assert letter.address_lines[0] == "Owner 1 <& Co>"
    assert (
        letter.content["headline"][0]
        == "A water service at 1 Larch Court needs backflow protection."
    )
    assert letter.content["second_headline"].startswith("Un servicio de agua en 1 Larch Court")
    assert letter.file.pages >= 1
    (notice,) = Notice.objects.filter(carried__letter=letter)
    assert (notice.assembly, notice.premises) == (None, service.premises)


def test_an_assembly_installed_ends_the_ladder(program: Program) -> None:
    service = lacking(program)
    run(program, START)
    on = START + timedelta(days=20)
    dc = service.assemblies.get()
    told(dc, FactKind.REMOVED, on=on)
    installed(service, "RP", on=on)
    follow_premises(program=program, premises_ids=[service.premises_id], today=on)
    for day in MANY_DAYS:
        if day > on:
            run(program, day)
    assert [rung for _, rung, _ in rungs(program)] == ["test-owed"]


def test_a_survey_that_is_missing_climbs_its_own_ladder(program: Program) -> None:
    # no survey on record: due 1 April by the teaching rulebook's thirty days
    service = served(program)
    who = owner(program)
    PremisesParty.objects.create(premises=service.premises, party=who, role="owner")
    installed(service, "RP", on=START)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    for day in MANY_DAYS:
        run(program, day)
    assert rungs(program) == [("survey", "first-overdue", date(2026, 4, 4))]
    letter = Letter.objects.get(content__work="survey")
    assert letter.content["headline"][0] == "A survey of the plumbing at 1 Larch Court is overdue."


def test_the_owner_reads_what_is_asked_in_either_language(program: Program) -> None:
    lacking(program)
    run(program, START)
    letter = Letter.objects.get(content__work="protection")
    page = owner_page(letter, language="en", today=START)
    assert page.headline[0] == "Backflow protection of a water service at 1 Larch Court is due."
    assert any("DC" in one.why and "table 12" in one.why for one in page.due)
    assert page.letters[0].title == "Notice of protection owed"
    spanish = owner_page(letter, language="es", today=START)
    assert spanish.headline[0].startswith("Se acerca el plazo")
    assert spanish.letters[0].title == "Aviso de protección requerida"


def test_a_preview_names_the_work_and_the_street(program: Program) -> None:
    lacking(program)
    out = StringIO()
    call_command(
        "run_day", "--program", "works", "--as-of", START.isoformat(), "--preview", "--json",
        stdout=out,
    )  # fmt: skip
    assert json.loads(out.getvalue())["letters"] == 1
    assert not Notice.objects.exists()


def test_a_new_owner_gets_the_lawful_part_anew(program: Program) -> None:
    service = lacking(program)
    run(program, START)
    on = START + timedelta(days=5)
    name_party(
        premises=service.premises, role=PartyRole.OWNER, party=owner(program, "New"), since_on=on,
        hand=hand(on),
    )  # fmt: skip
    run(program, on)
    assert [rung for _, rung, _ in rungs(program)] == ["test-owed", "test-owed"]
    assert Obligation.objects.get(kind="protection").lawful_since == on
