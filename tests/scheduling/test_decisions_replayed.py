"""Whatever is decided about premises and services, ended and withdrawn: what is stored of them is
what replay finds from the stored facts."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

import pytest

from registry.models import Program
from scheduling.actions.by_hand.assemblies import take_back_fact
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.surveys import (
    follow_premises,
)
from scheduling.actions.opening import open_obligations
from scheduling.models import Decision, Fact
from tests.scheduling.larch_court import (
    agrees,
    court,
    decided,
    ended,
    words,
)
from tests.scheduling.waterworks import START, hand, installed, waterworks

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def program() -> Program:
    return waterworks()


def random_decision(random: Random, program: Program, *, on: date) -> None:
    kind = random.choice(("held", "held", "extended", "stopped", "exempted"))
    until = None if kind == "stopped" else on + timedelta(days=random.randrange(1, 120))
    chosen = [word for word in words(program) if random.random() < 0.7]
    if chosen:
        decided(program, kind, on=on, until=until, today=on, members=tuple(chosen))


def random_end(random: Random, program: Program, *, on: date) -> None:
    running = list(Decision.objects.filter(program=program, ended_at=None).order_by("pk"))
    if not running:
        return
    row = random.choice(running)
    try:
        ended(row, on=random.choice((row.on, on)), today=on)
    except RefusedChangeError:
        return  # it had ended by itself


def random_withdrawal(random: Random, *, on: date) -> None:
    facts = Fact.objects.filter(assembly=None, withdrawn_at=None, source_ref__startswith="decision")
    if facts:
        take_back_fact(fact=random.choice(list(facts.order_by("pk"))), today=on, hand=hand(on))


@pytest.mark.parametrize("seed", range(8))
def test_what_is_stored_is_what_replay_finds_whatever_is_decided(
    program: Program, seed: int
) -> None:
    random = Random(seed)
    services = court(program)
    on = START
    for step in range(8):
        on += timedelta(days=random.randrange(1, 45))
        match random.randrange(5):
            case 0 | 1:
                random_decision(random, program, on=on)
            case 2:
                random_end(random, program, on=on)
            case 3:
                random_withdrawal(random, on=on)
            case _:
                installed(random.choice(services), random.choice(("RP", "DC")), on=on)
        ids = [service.premises_id for service in services]
        if random.random() < 0.5:
            open_obligations(program=program, as_of=on)
        if step % 2:
            follow_premises(program=program, premises_ids=ids, today=on)
            agrees(program, on=on)
