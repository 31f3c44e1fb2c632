"""What replay cannot settle is asked of a person once, and no longer when the facts change."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from registry.models import Assembly, Question
from scheduling.actions.facts import withdraw_facts
from scheduling.domain.facts import FactKind
from scheduling.models import AssemblyState
from tests.scheduling.office import made_assembly, made_program, recorded, replayed

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
NOON = datetime(2025, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def assembly() -> Assembly:
    return made_assembly(made_program())


def test_a_failure_and_a_pass_on_one_day_wait_for_a_person(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.FAILED, date(2025, 6, 1)), (FactKind.PASSED, date(2025, 6, 1)))
    for _ in range(2):
        replayed([assembly], as_of=TODAY)
    (question,) = Question.objects.filter(assembly=assembly)
    assert "without times" in question.text
    assert (question.raised_on, question.settled_at) == (TODAY, None)


def test_a_fact_after_the_removal_waits_for_a_person(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.REMOVED, date(2025, 6, 1)), (FactKind.PASSED, date(2025, 7, 1)))
    replayed([assembly], as_of=TODAY)
    assert Question.objects.filter(text__contains="after the removal").count() == 1


def test_a_pass_before_the_installation_is_kept_and_asks_nobody(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.PASSED, date(2025, 6, 1)), (FactKind.INSTALLED, date(2025, 7, 1)))
    replayed([assembly], as_of=TODAY)
    assert not Question.objects.exists()


def test_a_question_is_settled_when_the_facts_change_and_asked_again_when_they_return(
    assembly: Assembly,
) -> None:
    recorded(assembly, (FactKind.REMOVED, date(2025, 6, 1)))
    later = recorded(assembly, (FactKind.PASSED, date(2025, 7, 1)))
    replayed([assembly], as_of=TODAY)
    ids = [later[0].pk]
    withdraw_facts(program=assembly.program, fact_ids=ids, at=NOON, reason="twin", by="clerk")
    replayed([assembly], as_of=TODAY)
    question = Question.objects.get()
    assert question.settled_at is not None
    assert "facts have changed" in question.answer
    recorded(assembly, (FactKind.PASSED, date(2025, 7, 1)))
    replayed([assembly], as_of=TODAY)
    still_open = Question.objects.filter(settled_at=None, answer="")
    assert list(still_open) == [question]


def test_what_a_person_settled_stays_settled(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.REMOVED, date(2025, 6, 1)), (FactKind.PASSED, date(2025, 7, 1)))
    replayed([assembly], as_of=TODAY)
    Question.objects.update(settled_at=NOON, settled_by="clerk", answer="a typing error")
    replayed([assembly], as_of=TODAY)
    assert Question.objects.get().answer == "a typing error"


def test_a_state_is_written_only_where_its_dates_differ(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.PASSED, date(2025, 6, 1)))
    replayed([assembly], as_of=TODAY)
    first = AssemblyState.objects.get()
    replayed([assembly], as_of=date(2025, 11, 26))
    assert AssemblyState.objects.get().replayed_at == first.replayed_at
    recorded(assembly, (FactKind.FAILED, date(2025, 11, 26)))
    replayed([assembly], as_of=date(2025, 11, 26))
    state = AssemblyState.objects.get()
    assert (state.replayed_as_of, state.failed_on) == (date(2025, 11, 26), date(2025, 11, 26))
