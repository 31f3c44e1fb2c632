"""A notice about a service or a premises, or under a hazard that was mended, may have no cause."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from notices.models import Letter, Notice
from registry.models import Assembly, HazardAssessment, PremisesParty, Program
from scheduling.actions.by_hand.surveys import follow_premises
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from tests.notices.ladders.story import Story
from tests.notices.offices import owner
from tests.notices.test_place_letters import lacking, run
from tests.scheduling.waterworks import START, installed, moment, served, surveyed, told, waterworks

pytestmark = pytest.mark.django_db


@pytest.fixture
def program() -> Program:
    return waterworks()


def corrections() -> list[Letter]:
    return list(Letter.objects.filter(kind="correction").order_by("pk"))


def said(letter: Letter) -> str:
    return " ".join([*letter.content["headline"], *letter.content["paragraphs"]])


def in_error() -> list[str]:
    rows = Notice.objects.filter(sent_in_error_on__isnull=False).order_by("pk")
    return list(rows.values_list("rung", flat=True))


def known_from(day: date, one: Assembly, kind: FactKind, *, on: date) -> None:
    """A fact that the office learns of on a later day than its own."""
    from scheduling.actions.facts import NewFact, record_facts

    record_facts(
        program=one.program,
        facts=[NewFact(assembly_id=one.pk, kind=kind, on=on)],
        recorded_at=moment(day),
        by="clerk",
    )


def test_protection_that_stood_before_the_notice_left_takes_it_back(program: Program) -> None:
    # Due 1 April; the notice after it leaves on the 4th. The RP went in on 20 March, and the
    # office learns of it on 10 April: what left on 2 March had its cause, this had none.
    service = lacking(program)
    late, learned = date(2026, 4, 4), date(2026, 4, 10)
    run(program, START)
    run(program, late)
    rp = installed(service, "RP", on=date(2026, 3, 20))
    rp.facts.update(recorded_at=moment(learned))
    Assembly.objects.filter(pk=rp.pk).update(created_at=moment(learned))
    follow_premises(program=program, premises_ids=[service.premises_id], today=learned)
    run(program, learned)
    assert in_error() == ["first-overdue"]
    (sent,) = corrections()
    assert "It had been done before the letter left" in said(sent)
    assert list(sent.content["table"]["heads"])[:3] == [
        "Service",
        "Premises",
        "What we asked for",
    ]
    run(program, learned + timedelta(days=9))
    assert len(corrections()) == 1


def test_a_finding_mended_to_low_takes_the_notice_about_protection_back(program: Program) -> None:
    # A DC protects against a low hazard: from the day of the finding nothing was lacking.
    service = lacking(program)
    run(program, START)
    learned = START + timedelta(days=5)
    HazardAssessment.objects.create(
        premises=service.premises, assessed_on=START, hazard="low", recorded_at=moment(learned)
    )
    follow_premises(program=program, premises_ids=[service.premises_id], today=learned)
    run(program, learned)
    assert in_error() == ["test-owed"]
    (sent,) = corrections()
    assert "Our record was wrong and has been corrected." in said(sent)
    row = sent.content["table"]["groups"][0]["rows"][0]["cells"]
    assert row[-1] == ["Nothing owed"]


def test_a_survey_written_down_late_takes_the_notice_that_it_was_overdue_back(
    program: Program,
) -> None:
    service = served(program)
    who = owner(program)
    PremisesParty.objects.create(premises=service.premises, party=who, role="owner")
    installed(service, "RP", on=START)
    follow_premises(program=program, premises_ids=[service.premises_id], today=START)
    late, learned = date(2026, 4, 4), date(2026, 4, 10)
    run(program, START)
    run(program, late)
    HazardAssessment.objects.create(
        premises=service.premises, assessed_on=date(2026, 3, 25), hazard="high",
        recorded_at=moment(learned),
    )  # fmt: skip
    follow_premises(program=program, premises_ids=[service.premises_id], today=learned)
    run(program, learned)
    assert in_error() == ["first-overdue"]
    assert "It had been done before the letter left" in said(corrections()[0])


def test_what_is_learned_of_a_later_day_takes_nothing_back(program: Program) -> None:
    service = lacking(program)
    run(program, START)
    on = START + timedelta(days=5)
    told(service.assemblies.get(), FactKind.REMOVED, on=on)
    installed(service, "RP", on=on)
    surveyed(service.premises, "low", on=on)
    follow_premises(program=program, premises_ids=[service.premises_id], today=on)
    run(program, on)
    assert (in_error(), corrections()) == ([], [])


def test_a_hazard_mended_after_the_letter_takes_a_notice_back_that_came_too_soon() -> None:
    # Lincoln County NC: repaired within 14 days at a health hazard, 21 at others. Failed 1 April,
    # overdue on the 16th; on the 18th the office learns that a survey of 1 March found it low:
    # until 22 April there was time.
    story = Story("lincoln-county-nc", is_trial=True)
    one = story.stands("S1", ("passed", date(2025, 6, 15)), hazard="high")
    HazardAssessment.objects.all().update(assessed_on=date(2026, 1, 5))
    story.told(one, "failed", date(2026, 4, 1))
    for day in (date(2026, 4, 1), date(2026, 4, 16)):
        story.runs(day)
    assert Notice.objects.filter(rung="overdue", left_on__isnull=False).count() == 1
    learned = date(2026, 4, 18)
    HazardAssessment.objects.create(
        premises=story.premises, assembly=one, assessed_on=date(2026, 3, 1), hazard="low",
        recorded_at=moment(learned),
    )  # fmt: skip
    Assembly.objects.filter(pk=one.pk).update(hazard="low")
    replay_assemblies(program=story.program, assembly_ids=[one.pk], as_of=learned)
    story.runs(learned)
    assert in_error() == ["overdue"]
    (sent,) = corrections()
    assert "Our record was wrong" in said(sent)
    story.runs(date(2026, 4, 23))  # and on its true day it leaves
    assert Notice.objects.get(rung="overdue", sent_in_error_on__isnull=True).left_on == date(
        2026, 4, 23
    )
