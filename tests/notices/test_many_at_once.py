"""Three hundred assemblies in one letter: what its page and its owner's page show first."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from notices.actions.day import run_day
from notices.links import token_of
from notices.models import Letter
from notices.owner.due_lists import DueNow, by_place
from registry.models import Assembly, Membership, ServiceConnection
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from tests.notices.offices import AT, START, office, owner, premises

PLACES, EACH = 43, 7


def due(place: str, serial: str) -> DueNow:
    return DueNow(
        standing="overdue", stands="Overdue by 3 days", assembly=("DC", f"serial {serial}"),
        where=(place, "meter pit"), why="It last passed long ago.",
    )  # fmt: skip


def test_a_dozen_lines_stand_as_they_are_and_more_stand_by_premises() -> None:
    few = [due("9 Elm", f"S{n}") for n in range(12)]
    assert by_place(few) == ()
    many = [*few, due("10 Elm", "S12")]
    found = [(one.place, len(one.due)) for one in by_place(many)]
    assert found == [("9 Elm", 12), ("10 Elm", 1)]


@pytest.fixture
def letter(db: None) -> Letter:
    """A first overdue notice about 301 assemblies at 43 premises."""
    program = office()
    big = owner(program)
    facts = []
    for number in range(PLACES):
        place = premises(program, 200 + number, of=big)
        line = ServiceConnection.objects.create(premises=place, kind="domestic")
        made = Assembly.objects.bulk_create(
            Assembly(
                program=program, premises=place, connection=line, type="DC",
                serial=f"S{number:02d}{n}", serial_key=f"S{number:02d}{n}",
                size_in=Decimal("0.75"), location="meter room", hazard="low", created_at=AT,
            )
            for n in range(EACH)
        )  # fmt: skip
        facts += [
            NewFact(assembly_id=one.pk, kind=FactKind.PASSED, on=date(2024, 12, 1), source="person")
            for one in made
        ]
    record_facts(program=program, facts=facts, recorded_at=AT, by="a test")
    replay_assemblies(program=program, assembly_ids=None, as_of=START, at=AT)
    run_day(program=program, as_of=START, now=datetime(2026, 1, 5, 20, tzinfo=UTC))
    return Letter.objects.select_related("program", "file").get()


def test_the_owner_reads_what_to_do_before_the_list(client: Client, letter: Letter) -> None:
    token = token_of(program_code=letter.program.code, number=letter.number)
    page = client.get(reverse("owner-page", args=[token])).content.decode()
    assert page.index("What to do") < page.index("The whole list") < page.index("serial S000")
    assert page.count("<details>") == PLACES
    assert f"200 Larch Court ({EACH})" in page
    spanish = client.get(reverse("owner-page", args=[token]), {"lang": "es"}).content.decode()
    assert spanish.index("Qué hacer") < spanish.index("La lista completa")


def test_the_letters_page_shows_its_words_and_keeps_its_lists_closed(
    client: Client, letter: Letter
) -> None:
    user = User.objects.create_user("clerk")
    Membership.objects.create(user=user, role="clerk", program=letter.program)
    client.force_login(user)
    page = client.get(reverse("letter", args=[letter.program.code, letter.pk])).content.decode()
    assert "The whole list of 301 is at the end of this letter." in page
    for heading in ("The whole list</summary>", "Each of them, with its reason</summary>"):
        assert heading in page
    assert '<th class="whole" scope="rowgroup" colspan="5">242 Larch Court</th>' in page
    assert letter.file.pages == 18
