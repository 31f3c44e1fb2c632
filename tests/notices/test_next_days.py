"""Nothing owed is missed by looking at next days: a full look finds no more, whatever happened."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from operator import attrgetter
from random import Random

import pytest

from notices.actions.day import run_day
from notices.domain.owing import OwedNotice
from notices.models import Notice
from notices.queries.owed import (
    obligations_to_look_at,
    owed_notices,
    positions,
    positions_as_opened,
)
from notices.queries.owed_now import owed_now
from registry.changes import Hand
from registry.domain.kinds import PartyRole
from registry.models import Assembly, Program
from reports.merging.assemblies import merge_assemblies
from reports.merging.undoing import undo_merge
from scheduling.actions.by_hand.premises import name_party
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.levelling import _set_targets
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.models import Obligation
from scheduling.queries.opening import ids_to_open
from tests.notices.offices import START, assembly, office, owner, premises

NOW = datetime(2030, 1, 1, 17, tzinfo=UTC)
HAND = Hand(by="A. Clerk", at=datetime(2026, 1, 5, 12, tzinfo=UTC), reason="in a test")
DAYS = 26


def owed_by_a_full_look(program: Program, *, today: date) -> set[int]:
    """What is owed today when every open row is read, whatever its next day says."""
    opening = set(ids_to_open(program=program, as_of=today))
    unclosed = Obligation.objects.filter(program=program, closed_on__isnull=True)
    open_now = set(unclosed.filter(opened_on__isnull=False).values_list("pk", flat=True))
    found = positions_as_opened(sorted(opening | open_now), today=today)
    return {place.row.pk for place in found if place.is_owed(today=today)}


def owed_by_next_days(program: Program, *, today: date) -> set[int]:
    """What a run of today would look at."""
    looked_at = obligations_to_look_at(program, today=today).values_list("pk", flat=True)
    return set(ids_to_open(program=program, as_of=today)) | set(looked_at)


def both_ways(program: Program, *, today: date) -> tuple[list[OwedNotice], list[OwedNotice]]:
    """What is owed, found from plain values and row by row."""
    ids = obligations_to_look_at(program, today=today).values_list("pk", flat=True)
    one_by_one = owed_notices(positions(sorted(ids), today=today), today=today)
    fast = owed_now(program, today=today)
    order = attrgetter("key", "recipient_key")
    return sorted(fast, key=order), sorted(one_by_one, key=order)


def told(one: Assembly, kind: FactKind, on: date, *, until: date | None = None) -> None:
    fact = NewFact(assembly_id=one.pk, kind=kind, on=on, until=until, reason="in a test")
    record_facts(program=one.program, facts=[fact], recorded_at=HAND.at, by="a test")
    replay_assemblies(program=one.program, assembly_ids=[one.pk], as_of=on)


def something_happens(draw: Random, program: Program, *, today: date) -> None:
    """One of the acts that let a ladder go on, wait, or begin anew."""
    one = draw.choice(list(Assembly.objects.filter(program=program).order_by("pk")))
    later = today + timedelta(days=draw.randint(5, 60))
    match draw.randrange(9):
        case 0:
            told(one, FactKind.FAILED, today)
        case 1:
            told(one, FactKind.PASSED, today - timedelta(days=draw.randint(0, 30)))
        case 2:
            told(one, FactKind.IDLED, today, until=later)
        case 3:
            told(one, FactKind.RESUMED, today)
        case 4:
            told(one, FactKind.HELD, today, until=later)
        case 5:
            told(one, draw.choice([FactKind.STOPPED, FactKind.RESTARTED]), today)
        case 6:
            told(one, FactKind.EXTENDED, today, until=later)
        case 7:
            name_party(
                premises=one.premises, role=PartyRole.OWNER, since_on=today, hand=HAND,
                party=owner(program, f"Heir {Assembly.objects.count()} {today}"),
            )  # fmt: skip
        case _:
            rows = Obligation.objects.filter(assembly=one, closed_on__isnull=True)
            target = today + timedelta(days=draw.randint(-20, 40))
            _set_targets({row.pk: min(target, row.due_on) for row in rows}, today=today)


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("most", [None, 2], ids=["all", "two a day"])
def test_whatever_happens_a_full_look_finds_no_more_than_the_next_days(
    seed: int, most: int | None
) -> None:
    draw = Random(seed)
    program = office(letters_a_day=most)
    for number in range(5):
        passed = START - timedelta(days=draw.randint(280, 420))
        place = premises(program, number, of=owner(program, f"Owner {number}"))
        assembly(place, f"S{number}", facts=(("passed", passed),), hazard="low")
    today, owed_at_all = START, 0
    for _ in range(DAYS):
        for _ in range(draw.randint(0, 2)):
            something_happens(draw, program, today=today)
        owed = owed_by_a_full_look(program, today=today)
        assert owed <= owed_by_next_days(program, today=today)
        owed_at_all += len(owed)
        fast, one_by_one = both_ways(program, today=today)
        assert fast == one_by_one
        run_day(program=program, as_of=today, now=NOW)
        again = owed_by_a_full_look(program, today=today)
        assert again <= owed_by_next_days(program, today=today)
        fast, one_by_one = both_ways(program, today=today)
        assert fast == one_by_one
        today += timedelta(days=draw.choice([1, 1, 2, 7, 14, 20]))
    assert owed_at_all > 5
    assert Notice.objects.filter(program=program, left_on__isnull=False).exists()


@pytest.mark.django_db
def test_a_merge_and_its_undoing_leave_nothing_owed_behind() -> None:
    program = office()
    place = premises(program, of=owner(program))
    pair = [
        assembly(place, serial, facts=(("passed", date(2024, 12, 1)),), hazard="low")
        for serial in ("S1", "S2")
    ]
    today = START
    for step in range(4):
        run_day(program=program, as_of=today, now=NOW)
        today += timedelta(days=15)
        if step == 1:
            merge = merge_assemblies(
                program=program, kept_id=pair[0].pk, gone_id=pair[1].pk, from_gone=frozenset(),
                today=today, hand=HAND,
            )  # fmt: skip
            owed = owed_by_a_full_look(program, today=today)
            assert owed
            assert owed <= owed_by_next_days(program, today=today)
            undo_merge(merge=merge, today=today, hand=HAND)
        owed = owed_by_a_full_look(program, today=today)
        assert len(owed) == 2
        assert owed <= owed_by_next_days(program, today=today)
    assert Notice.objects.filter(program=program, left_on__isnull=False).count() > 4


@pytest.mark.django_db
def test_letters_kept_back_until_the_office_is_live_are_owed_that_day() -> None:
    program = office(is_trial=False, go_live_on=START + timedelta(days=10))
    assembly(premises(program, of=owner(program)), facts=(("passed", date(2024, 12, 1)),))
    run_day(program=program, as_of=START, now=NOW)
    assert not Notice.objects.exists()
    live = START + timedelta(days=10)
    assert owed_by_a_full_look(program, today=live) <= owed_by_next_days(program, today=live)
    run_day(program=program, as_of=live, now=NOW)
    assert Notice.objects.count() == 1
