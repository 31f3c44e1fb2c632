"""What makes a notice come: each trigger once, from the record alone to the letter that leaves.

Credentials that lapse stand in tests/reports/test_lapse_letters.py, reports that do not count
in tests/reports/test_reports_in_hand.py and test_mend_letters.py.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from notices.models import Letter, Notice
from registry.models import Program
from scheduling.actions.by_hand.surveys import follow_premises
from scheduling.domain.facts import FactKind
from tests.notices.offices import START, assembly, happened, office, owner, premises
from tests.notices.test_place_letters import lacking
from tests.notices.test_place_letters import run as run_works
from tests.notices.test_returned_letters import run
from tests.scheduling.waterworks import START as BEGUN
from tests.scheduling.waterworks import installed, served, surveyed, told, waterworks

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def came(program: Program) -> list[tuple[str, date]]:
    """The rungs whose letters left, with their day."""
    rows = Notice.objects.filter(program=program, left_on__isnull=False).order_by("left_on", "pk")
    return [(rung, on) for rung, on in rows.values_list("rung", "left_on") if on is not None]


@pytest.mark.parametrize(
    ("facts", "rung", "on"),
    [
        # opening: installed on 5 January without a test, owed from that day
        ((("installed", START),), "test-owed", START),
        # due on 19 February 2026: 45 days before is 5 January
        ((("passed", date(2025, 2, 19)),), "reminder", START),
        # due on 4 January 2026: overdue the day after
        ((("passed", date(2025, 1, 4)),), "first-overdue", START),
        # passed in the autumn, failed today
        ((("passed", date(2025, 9, 1)), ("failed", START)), "repair", START),
    ],
    ids=["opening", "due", "overdue", "failed"],
)
def test_an_obligation_that_opens_comes_due_is_overdue_or_failed_brings_its_notice(
    facts: tuple[tuple[str, date], ...], rung: str, on: date
) -> None:
    program = office()
    assembly(premises(program, of=owner(program)), facts=facts)
    run(program, 0)
    assert came(program) == [(rung, on)]


def test_the_day_before_there_is_none() -> None:
    program = office()
    assembly(premises(program, 1, of=owner(program, "Soon")), "S1",
             facts=(("passed", date(2025, 2, 20)),))  # fmt: skip
    assembly(premises(program, 2, of=owner(program, "Due")), "S2",
             facts=(("passed", date(2025, 1, 5)),))  # fmt: skip
    run(program, 0)
    assert {rung for rung, _ in came(program)} <= {"second-reminder"}
    run(program, 1)
    assert ("reminder", START + DAY) in came(program)
    assert ("first-overdue", START + DAY) in came(program)


def test_a_failed_test_that_is_cured_the_same_day_brings_none() -> None:
    program = office()
    one = assembly(premises(program, of=owner(program)), facts=(("passed", date(2025, 9, 1)),))
    happened(one, (("failed", START), ("repaired", START), ("passed", START)), as_of=START)
    run(program, 0)
    assert came(program) == []


# --- services and premises --------------------------------------------------------------------


def bare(program: Program) -> None:
    """A service on which nothing stands, at a premises surveyed on the day."""
    service = served(program)
    surveyed(service.premises, "low", on=BEGUN)
    follow_premises(program=program, premises_ids=[service.premises_id], today=BEGUN)


def too_weak(program: Program) -> None:
    """A service behind a DC against a high hazard."""
    lacking(program)


@pytest.mark.parametrize("begins", [bare, too_weak], ids=["missing", "insufficient"])
def test_missing_and_insufficient_protection_bring_a_notice(
    begins: Callable[[Program], None],
) -> None:
    program = waterworks()
    begins(program)
    run_works(program, BEGUN)
    assert came(program) == [("test-owed", BEGUN)]
    assert Letter.objects.get().content["work"] == "protection"


def test_protection_taken_away_brings_a_notice_on_that_day_and_not_before() -> None:
    program = waterworks()
    service = served(program)
    rp = installed(service, "RP", on=BEGUN)
    surveyed(service.premises, "high", on=BEGUN)
    follow_premises(program=program, premises_ids=[service.premises_id], today=BEGUN)
    run_works(program, BEGUN)
    assert came(program) == []
    on = BEGUN + 9 * DAY
    told(rp, FactKind.REMOVED, on=on)
    follow_premises(program=program, premises_ids=[service.premises_id], today=on)
    run_works(program, on)
    assert came(program) == [("test-owed", on)]


def test_a_survey_that_is_due_again_brings_a_notice() -> None:
    # 35 IAC 604.1510: every 2 years. Surveyed on 20 March 2024: due 20 March 2026, late the 21st.
    program = waterworks()
    service = served(program)
    installed(service, "RP", on=BEGUN)
    surveyed(service.premises, "high", on=date(2024, 3, 20))
    follow_premises(program=program, premises_ids=[service.premises_id], today=BEGUN)
    for day in (BEGUN, date(2026, 3, 20), date(2026, 3, 21), date(2026, 3, 22)):
        run_works(program, day)
    assert came(program) == [("first-overdue", date(2026, 3, 21))]
    assert Letter.objects.get().content["work"] == "survey"
