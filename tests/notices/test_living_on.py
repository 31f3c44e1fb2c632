"""A trial lives on by a person's hand: to the next letter, by a day, to a date."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from django.test import Client
from django.urls import reverse

from notices.actions.living import live_to, live_to_next_letter
from notices.models import Letter
from notices.queries.lived import lived_days, next_day_of
from registry.console import Refused
from registry.domain.kinds import Role
from registry.models import Membership, Program
from scheduling.models import DayRun
from scheduling.views.desk import day_at
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 1, 5, 12, tzinfo=UTC)
DUE_IN_APRIL = (("passed", date(2025, 4, 20)),)


@pytest.fixture
def program() -> Program:
    made = office()
    assembly(premises(made, of=owner(made)), facts=DUE_IN_APRIL)
    return made


def test_it_lives_to_the_next_letter_and_runs_only_days_on_which_something_happens(
    program: Program,
) -> None:
    # plain-rolling: due 20 April 2026; the reminder 45 days before, 6 March.
    lived = live_to_next_letter(program, today=START, now=NOW)
    assert (lived.day, lived.is_there) == (date(2026, 3, 6), True)
    assert Letter.objects.get(program=program).kind == "reminder"
    assert DayRun.objects.filter(program=program).count() <= 2
    second = live_to_next_letter(program, today=lived.day, now=NOW)
    assert second.day == date(2026, 4, 5)  # 15 days before due


def test_to_a_day_it_runs_each_day_that_asks_for_something_and_the_day_itself(
    program: Program,
) -> None:
    lived = live_to(program, today=START, to=date(2026, 6, 15), now=NOW)
    assert (lived.day, lived.is_there) == (date(2026, 6, 15), True)
    kinds = Letter.objects.filter(program=program).order_by("pk").values_list("kind", "composed_on")
    assert list(kinds) == [
        ("reminder", date(2026, 3, 6)),
        ("second-reminder", date(2026, 4, 5)),
        ("first-overdue", date(2026, 4, 21)),
        ("second-overdue", date(2026, 5, 5)),
        ("final", date(2026, 5, 20)),
        ("shutoff-order", date(2026, 5, 30)),
    ]
    days = lived_days(program)
    assert days[0].day == date(2026, 6, 15)
    order = next(day for day in days if day.day == date(2026, 5, 30))
    assert [one.is_order for one in order.letters] == [True]
    assert day_at(program) == date(2026, 6, 15)
    assert next_day_of(program, after=date(2026, 6, 15)) is None


def test_a_live_program_and_a_day_that_is_past_are_refused(program: Program) -> None:
    with pytest.raises(Refused, match="Choose a day after"):
        live_to(program, today=START, to=START, now=NOW)
    program.is_trial = False
    with pytest.raises(Refused, match="Only a trial"):
        live_to_next_letter(program, today=START, now=NOW)


def test_the_page_moves_the_day_and_shows_what_happened(
    program: Program, client: Client, django_user_model: type
) -> None:
    person = django_user_model.objects.create_user("clerk")  # type: ignore[attr-defined]
    Membership.objects.create(user=person, role=Role.CLERK, program=program)
    client.force_login(person)
    url, to = reverse("live-on", args=["flats"]), reverse("live-on-to", args=["flats"])
    assert "lives on January 5, 2026" in client.get(url).content.decode().replace("\u00a0", " ")
    page = client.post(to, {"how": "letter"}, follow=True).content.decode().replace("\u00a0", " ")
    assert "It is March 6, 2026 now; 1 letter composed on the way." in page
    assert "A backflow test is due at 230 Larch Court." in page
    client.post(to, {"how": "day"})
    assert day_at(program) == date(2026, 3, 7)
    client.post(to, {"how": "to", "day": "2026-03-20"})
    assert day_at(program) == date(2026, 3, 20)
    wrong = client.post(to, {"how": "to", "day": "soon"}, follow=True).content.decode()
    assert "Choose a day." in wrong
    program.is_trial = False
    program.save()
    assert client.get(url).status_code == 404
    assert client.post(to, {"how": "day"}).status_code == 404
