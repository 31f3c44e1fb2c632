"""Invented, seeded lives of assemblies: their facts, and what replay makes of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

from registry.domain.kinds import AssemblyType, Hazard, ServiceKind
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.forecast import left_by_then
from scheduling.domain.ladders import LeftRung
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, Regime, Rulebook
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline

DAY = date(2025, 11, 25)
"""The day whose cycle is measured; the runs of every day before it are done."""

YESTERDAY = DAY - timedelta(days=1)
LONGEST_LATE = 38
ALWAYS = date(1990, 1, 1)
SHAPES = (
    (45, AssemblyType.DC, Hazard.LOW, ServiceKind.DOMESTIC),
    (25, AssemblyType.RP, Hazard.HIGH, ServiceKind.DOMESTIC),
    (10, AssemblyType.RP, Hazard.LOW, ServiceKind.IRRIGATION),
    (15, AssemblyType.PVB, Hazard.LOW, ServiceKind.IRRIGATION),
    (5, AssemblyType.DCDA, Hazard.LOW, ServiceKind.FIRE),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """What one assembly is, what happened to it, and what is owed of it as of yesterday."""

    attributes: Attributes
    facts: tuple[Fact, ...]
    ledger: Ledger
    left: tuple[LeftRung, ...]

    @property
    def rows(self) -> tuple[Obligation, ...]:
        """Everything owed, met and coming."""
        return (*self.ledger.obligations, *self.ledger.coming)

    @property
    def waits_for_a_person(self) -> bool:
        """Whether its ladder has come to an order: no usual day's work."""
        current = self.ledger.current
        late_from = None if current is None else current.cure_by or current.due_on
        return late_from is not None and late_from < DAY - timedelta(days=LONGEST_LATE)

    @property
    def is_quiet(self) -> bool:
        """Whether today asks nothing of it: nothing opens, no rung is owed; it may be idle."""
        acts = self.ledger.next_actions
        current = [o for o in self.rows if o.closed_on is None]
        return all(acts.get(o.key, date.max) > DAY for o in current)


def lives(*, rulebook: Rulebook, count: int, seed: int) -> list[Life]:
    """Return so many lives under a rulebook; the same seed gives the same lives."""
    random = Random(seed)
    found: list[Life] = []
    while len(found) < count:
        life = _life(random, rulebook=rulebook)
        if not life.waits_for_a_person:
            found.append(life)
    return found


def _life(random: Random, *, rulebook: Rulebook) -> Life:
    (_, kind, hazard, service), *_ = random.choices(SHAPES, weights=[s[0] for s in SHAPES])
    attributes = Attributes(type=kind, hazard=hazard, service=service)
    rule = rulebook.cycle_rule(kind=rulebook.main_kind, attributes=attributes)
    is_season = rule is not None and rule.regime is Regime.SEASON
    months = (rule.cycle.months if rule is not None else None) or 12
    told = _told(random, step=months * 30 + months // 2, is_season=is_season)
    facts = tuple(
        Fact(kind=kind, on=on, sequence=place, **more)
        for place, (kind, on, more) in enumerate(told)
        if on <= YESTERDAY
    )
    timeline = timeline_of(attributes, rulebooks=(RulebookFrom(on=ALWAYS, rulebook=rulebook),))
    ledger = replay(timeline=timeline, facts=facts, left={}, as_of=YESTERDAY)
    current = ledger.current
    if current is None:
        return Life(attributes=attributes, facts=facts, ledger=ledger, left=())
    left = left_by_then(
        ladder=rulebook.ladder_for(kind=current.kind, attributes=attributes),
        obligation=current,
        live_from=ALWAYS,
        day=DAY,
    )
    ledger = replay(timeline=timeline, facts=facts, left={current.key: left}, as_of=YESTERDAY)
    return Life(attributes=attributes, facts=facts, ledger=ledger, left=left)


def timeline_of(attributes: Attributes, *, rulebooks: tuple[RulebookFrom, ...]) -> Timeline:
    """Return the timeline of an assembly that never changed and was recorded long ago."""
    return Timeline(
        attributes=(AttributesFrom(on=date.min, attributes=attributes),),
        rulebooks=rulebooks,
        recorded_on=ALWAYS,
    )


Told = tuple[FactKind, date, dict[str, Any]]


def _told(random: Random, *, step: int, is_season: bool) -> Sequence[Told]:
    """Installed, tested from then on; now and then late, failing, idle or removed."""
    installed = DAY - timedelta(days=random.randint(200, 2200))
    told: list[Told] = [(FactKind.INSTALLED, installed, {})]
    day = installed + timedelta(days=random.randint(1, 9))
    while day <= YESTERDAY:
        told += _tested(random, day)
        day = _next_test(random, after=day, step=step, is_season=is_season)
    last = max(on for _, on, _ in told)
    chance = random.random()
    if chance < 0.002:
        told.append((FactKind.IDLED, last + timedelta(days=random.randint(1, 30)), {}))
    elif chance < 0.005:
        told.append((FactKind.REMOVED, last + timedelta(days=random.randint(1, 30)), {}))
    return told


def _tested(random: Random, day: date) -> list[Told]:
    chance = random.random()
    if chance < 0.04:
        mended = day - timedelta(days=1)
        failed = day - timedelta(days=random.randint(2, 6))
        return [(FactKind.FAILED, failed, {}), (FactKind.REPAIRED, mended, {}),
                (FactKind.PASSED, day, {})]  # fmt: skip
    if chance < 0.06:
        return [(FactKind.PASSED, day, {"found_failed": True, "repaired_inside": True})]
    return [(FactKind.PASSED, day, {})]


def _next_test(random: Random, *, after: date, step: int, is_season: bool) -> date:
    if is_season:
        year = after.year + (1 if after.month < 10 else 2)
        return date(year, 3, 1) + timedelta(days=random.randint(0, 90))
    late = random.random() < 0.03
    slack = random.randint(1, 30) if late else -random.randint(0, 50)
    return after + timedelta(days=step + slack)


def letters_of(life: Life) -> Iterator[tuple[int, LeftRung]]:
    """Yield what has left for a life, each with the number of its row.

    For the open row what its ladder sent by then; for the round before one letter, as a registry
    keeps them. Without those a registry of a million would hold the letters of some 17 days.
    """
    closed = [n for n, row in enumerate(life.rows) if row.closed_on is not None]
    for n in closed[-1:]:
        yield n, LeftRung(rung="first letter", occurrence="1", left_on=life.rows[n].opens_on)
    current = life.ledger.current
    for rung in life.left:
        yield next(n for n, row in enumerate(life.rows) if current and row.key == current.key), rung
