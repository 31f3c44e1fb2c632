"""An office that begins with very many overdue: so many a day, in order, no step left out."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta

import pytest

from notices.actions.day import run_day
from notices.actions.pacing import move_group
from notices.domain.pacing import MoveBy
from notices.models import Letter, LetterNotice, Notice
from notices.queries.ladders import ladder_for
from notices.queries.waiting import waiting_letters
from registry.changes import Hand
from registry.models import Program
from scheduling.domain.rungs import Trigger
from scheduling.models import Obligation
from scheduling.queries.where import WHERE
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
DAY = timedelta(days=1)
HAND = Hand(by="Iva Brandt", at=NOW, reason="The hospital street is dug up in March.")


def skipped(program: Program) -> list[str]:
    """Lawful steps that lie between those that were taken of each obligation, and were not."""
    taken: dict[int, list[str]] = defaultdict(list)
    for pk, rung in Notice.objects.filter(program=program).values_list("obligation_id", "rung"):
        taken[pk or 0].append(rung)
    rows = Obligation.objects.filter(pk__in=taken).select_related("rulebook", "program", *WHERE)
    found = []
    for row in rows:
        lawful = [
            rung.key
            for rung in ladder_for(row).rungs
            if rung.trigger is Trigger.DUE and rung.offset_days >= 0 and not rung.is_skippable
        ]
        last = max((lawful.index(rung) for rung in taken[row.pk] if rung in lawful), default=-1)
        found += [f"{row}: {one}" for one in lawful[: last + 1] if one not in taken[row.pk]]
    return found


def order_shown(program: Program, *, today: date) -> list[tuple[str, str]]:
    """To whom letters go next and about which street, as the page has it."""
    said = waiting_letters(program, today=today, now=NOW, most=1000)
    return [(line.recipient, line.rung) for line in said.lines]


def order_written(program: Program, *, today: date) -> list[tuple[str, str]]:
    """The letters of a day in the order in which they were composed."""
    letters = Letter.objects.filter(program=program, composed_on=today).order_by("pk")
    return [(one.address_lines[0], one.carried.order_by("pk")[0].notice.rung) for one in letters]


@pytest.fixture
def program() -> Program:
    """Twenty-four overdue, three years of them, at three hazards, some failed."""
    made = office(letters_a_day=7)
    for number in range(24):
        place = premises(made, number, of=owner(made, f"Owner {number}"))
        facts = [("passed", date(2022, 1, 1) + 40 * number * DAY)]
        facts += [("failed", date(2025, 12, 1))] if number % 6 == 0 else []
        hazard = ("high", "low", "not assessed")[number % 3]
        assembly(place, f"S{number}", hazard=hazard, facts=facts)
    return made


def test_the_backlog_goes_in_the_order_shown_so_many_a_day_and_skips_no_step(
    program: Program,
) -> None:
    today = START
    run_day(program=program, as_of=today, now=NOW)
    for _ in range(3):
        shown = order_shown(program, today=today)
        today += DAY
        run_day(program=program, as_of=today, now=NOW)
        written = order_written(program, today=today)
        # What is owed anew this very day stands at its own place; the rest goes as shown.
        as_shown = [one for one in written if one in shown]
        assert as_shown
        assert as_shown == shown[: len(as_shown)]
        assert len(written) <= 7
    for _ in range(60):
        today += DAY
        run_day(program=program, as_of=today, now=NOW)
    assert skipped(program) == []
    counts = LetterNotice.objects.values_list("letter__composed_on", "letter_id").distinct()
    by_day: dict[date, int] = defaultdict(int)
    for on, _ in counts:
        by_day[on] += 1
    assert max(by_day.values()) <= 7
    owed = Notice.objects.filter(program=program, rung="first-overdue", left_on__isnull=False)
    assert owed.count() == 24  # everybody got the first, nobody twice
    assert owed.values("obligation").distinct().count() == 24


def test_a_street_moved_back_goes_last_and_loses_no_step(program: Program) -> None:
    move_group(program=program, group=MoveBy.HAZARD, value="high", is_forward=False, hand=HAND)
    order: list[str] = []
    for offset in range(4):
        today = START + offset * DAY
        run_day(program=program, as_of=today, now=NOW)
        order += [to for to, _ in order_written(program, today=today)]
    high = {f"Owner {number}" for number in range(0, 24, 3)}
    assert set(order[-len(high) :]) == high
    for offset in range(4, 40, 4):
        run_day(program=program, as_of=START + offset * DAY, now=NOW)
    assert skipped(program) == []
