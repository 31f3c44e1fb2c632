"""Simulated programs for the quality watch: honest ones, and ones with cases planted in them.

Twelve testers over three years. Every figure is invented. Honest testers drive and test one after
the other, read gauges to tenths (some marks are read more often, by everybody), and find what
there is; a repair is written down. The planted cases are those the watch is for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, time, timedelta
from decimal import Decimal

import numpy as np

from reports.domain.watch import Seen, Sighting, Watch
from reports.domain.watch_digits import digit_preference
from reports.domain.watch_jumps import jumps_without_repair
from reports.domain.watch_rates import outside_the_funnel
from reports.domain.watch_repeats import repeated_readings
from reports.domain.watch_times import impossible_times, km_between

TESTERS = 12
ASSEMBLIES = 1000
YEARS = 3
FAILING = 0.08
_KINDS = {"RP": (("relief", 2.9, 0.35), ("check1", 7.2, 0.9)),
          "DC": (("check1", 1.9, 0.4), ("check2", 1.8, 0.4)),
          "PVB": (("air_inlet", 1.9, 0.4), ("check", 1.7, 0.35))}  # fmt: skip


@dataclass(kw_only=True)
class Made:
    """A program's reports, and what was planted: tests by watch, testers by watch."""

    reports: list[Seen]
    tests: dict[Watch, list[tuple[int, int]]] = field(default_factory=dict)
    testers: dict[Watch, set[str]] = field(default_factory=dict)


def honest_program(seed: int) -> Made:
    """Reports with nothing planted."""
    return Made(reports=list(_reports(np.random.default_rng([11, seed]))))


def planted_program(seed: int) -> Made:
    """The same with cases of every kind."""
    rng = np.random.default_rng([12, seed])
    made = honest_program(seed)
    _plant_repeats(made, tester="T-01")
    _plant_digits(made, rng, tester="T-03")
    _plant_rates(made, rng, never="T-04", often="T-05")
    _plant_jumps(made, rng, count=6)
    _plant_times(made, rng, count=4)
    return made


def all_sightings(made: Made) -> list[Sighting]:
    """What the five watches tell of a program."""
    told: list[Sighting] = []
    for watch in (
        repeated_readings,
        impossible_times,
        jumps_without_repair,
        digit_preference,
        outside_the_funnel,
    ):
        told += watch(made.reports)
    return told


def _reports(rng: np.random.Generator) -> Iterator[Seen]:
    places = rng.uniform(0, 0.3, (ASSEMBLIES, 2)) + np.array([46.5, -118.5])
    kinds = rng.choice(list(_KINDS), ASSEMBLIES, p=[0.5, 0.3, 0.2])
    levels = {
        n: [max(float(rng.normal(mean, spread)), 1.2) for _, mean, spread in _KINDS[kinds[n]]]
        for n in range(ASSEMBLIES)
    }
    test_id = 0
    for year in range(YEARS):
        order = rng.permutation(ASSEMBLIES)
        for tester, some in enumerate(np.array_split(order, TESTERS)):
            on, clock, before = date(2023 + year, 2, 1), 8 * 60.0, None
            for place in some:
                if clock > 16 * 60:
                    on, clock, before = on + timedelta(days=1), 8 * 60.0, None
                test_id += 1
                one = _test(rng, test_id=test_id, on=on, minutes=clock, place=int(place),
                            kind=str(kinds[place]), level=levels[int(place)], tester=tester,
                            lat=float(places[place][0]), lon=float(places[place][1]))  # fmt: skip
                way = (km_between(before, one) or 0.0) / 45 * 60 if before else 0.0
                clock += way
                yield replace(one, at=_clock(clock))
                before, clock = one, clock + float(rng.uniform(20, 45))


def _test(rng: np.random.Generator, *, test_id: int, on: date, minutes: float, place: int,
          kind: str, level: list[float], tester: int, lat: float, lon: float) -> Seen:  # fmt: skip
    fails = bool(rng.random() < FAILING)
    found, left = [], []
    for (name, _, _), height in zip(_KINDS[kind], level, strict=True):
        sees = _tenths(rng, height + float(rng.normal(0, 0.15)))
        left.append((name, sees))
        found.append((name, _tenths(rng, float(rng.uniform(0.2, 0.9))) if fails else sees))
    return Seen(
        test_id=test_id,
        on=on,
        at=_clock(minutes),
        assembly_id=place,
        type=kind,
        premises_id=place,
        lat=lat,
        lon=lon,
        tester=f"T-{tester:02}",
        gauge=f"G-{tester:02}",
        figures=tuple(found),
        left=tuple(left) if fails else (),
        found_failing=fails,
        was_repaired=fails,
    )


def _tenths(rng: np.random.Generator, value: float) -> Decimal:
    tenth = round(max(value, 0.1), 1)
    if round(tenth * 10) % 2 and rng.random() < 0.2:  # even marks are read more often
        tenth = round(tenth + 0.1, 1)
    return Decimal(f"{tenth:.1f}")


def _clock(minutes: float) -> time:
    whole = min(int(minutes) // 5 * 5, 23 * 60 + 55)
    return time(whole // 60, whole % 60)


def _of(made: Made, tester: str) -> list[int]:
    return [n for n, one in enumerate(made.reports) if one.tester == tester]


def _plant_repeats(made: Made, *, tester: str) -> None:
    """One set of readings written down at every eighth RP."""
    mine = [n for n in _of(made, tester) if made.reports[n].type == "RP"]
    for n in mine[::8]:
        made.reports[n] = replace(
            made.reports[n],
            figures=(("relief", Decimal("2.6")), ("check1", Decimal("6.8"))),
            left=(),
            found_failing=False,
            was_repaired=False,
        )
    made.testers[Watch.REPEATS] = {tester}


def _plant_digits(made: Made, rng: np.random.Generator, *, tester: str) -> None:
    """One reading in three ends in nought or five."""
    for n in _of(made, tester):
        figures = tuple(
            (
                name,
                Decimal(f"{round(float(figure) * 2) / 2:.1f}") if rng.random() < 0.33 else figure,
            )
            for name, figure in made.reports[n].figures
        )
        made.reports[n] = replace(made.reports[n], figures=figures)
    made.testers[Watch.DIGITS] = {tester}


def _plant_rates(made: Made, rng: np.random.Generator, *, never: str, often: str) -> None:
    """One tester finds next to nothing failing, another three times as much as the rest."""
    for n in _of(made, never):
        one = made.reports[n]
        if one.found_failing and rng.random() < 0.95:
            made.reports[n] = replace(
                one, figures=one.left, left=(), found_failing=False, was_repaired=False
            )
    for n in _of(made, often):
        one = made.reports[n]
        if not one.found_failing and rng.random() < 2 * FAILING:
            low = tuple(
                (name, _tenths(rng, float(rng.uniform(0.2, 0.9)))) for name, _ in one.figures
            )
            made.reports[n] = replace(
                one, figures=low, left=one.figures, found_failing=True, was_repaired=True
            )
    made.testers[Watch.RATES] = {never, often}


def _plant_jumps(made: Made, rng: np.random.Generator, *, count: int) -> None:
    """A reading 2 to 4 psid up on the year before, and no repair told."""
    quiet = [one for one in made.reports if one.on.year == 2023 and not one.found_failing]
    chosen = {quiet[int(n)].assembly_id for n in rng.choice(len(quiet), count, replace=False)}
    made.tests[Watch.JUMPS] = []
    for n, one in enumerate(made.reports):
        if one.assembly_id in chosen and one.on.year == 2025:
            before = next(r for r in made.reports if r.assembly_id == one.assembly_id
                          and r.on.year == 2024)  # fmt: skip
            stood = dict(before.left if before.was_repaired else before.figures)
            name = one.figures[0][0]
            up = stood[name] + Decimal(f"{rng.uniform(2, 4):.1f}")
            figures = ((name, up), *one.figures[1:])
            made.reports[n] = replace(
                one, figures=figures, left=(), found_failing=False, was_repaired=False
            )
            made.tests[Watch.JUMPS].append((before.test_id, one.test_id))


def _plant_times(made: Made, rng: np.random.Generator, *, count: int) -> None:
    """A tester, or another's hand with the same gauge, far away five minutes later."""
    made.tests[Watch.TIMES] = []
    next_id = max(one.test_id for one in made.reports) + 1
    for case in range(2 * count):
        one = made.reports[int(rng.integers(0, len(made.reports)))]
        assert one.at is not None
        assert one.lat is not None
        minutes = one.at.hour * 60 + one.at.minute
        made.reports.append(
            replace(
                one,
                test_id=next_id,
                assembly_id=10_000 + case,
                premises_id=10_000 + case,
                lat=one.lat + 0.4,
                at=_clock(minutes + 5),
                tester=one.tester if case % 2 else "T-99",
                figures=(),
                left=(),
                found_failing=False,
                was_repaired=False,
            )
        )
        made.tests[Watch.TIMES].append((one.test_id, next_id))
        next_id += 1


@dataclass(frozen=True, kw_only=True)
class Score:
    """What a watch found of what was planted, and what it told of honest programs."""

    planted: int
    found: int
    honest: int
    alarms: int


HONEST, PLANTED = 40, 20
PER_TESTER = frozenset({Watch.REPEATS, Watch.DIGITS, Watch.RATES})


def scores() -> dict[Watch, Score]:
    """The five watches over 40 honest programs and 20 with cases planted.

    Of honest programs testers are counted for the watches that are about testers, else reports.
    """
    honest = [honest_program(seed) for seed in range(HONEST)]
    told = [all_sightings(made) for made in honest]
    planted = [planted_program(1000 + seed) for seed in range(PLANTED)]
    found = [(made, all_sightings(made)) for made in planted]
    return {watch: _score(watch, honest=honest, told=told, found=found) for watch in Watch}


def _score(watch: Watch, *, honest: list[Made], told: list[list[Sighting]],
           found: list[tuple[Made, list[Sighting]]]) -> Score:  # fmt: skip
    alarms = [one for some in told for one in some if one.watch is watch]
    caught = planted = 0
    for made, some in found:
        mine = [one for one in some if one.watch is watch]
        testers, tests = made.testers.get(watch, set()), set(made.tests.get(watch, []))
        planted += len(testers) + len(tests)
        caught += len(testers & {one.about for one in mine}) + len(
            tests & {one.tests for one in mine}
        )
    per_tester = watch in PER_TESTER
    return Score(
        planted=planted,
        found=caught,
        honest=TESTERS * HONEST if per_tester else sum(len(made.reports) for made in honest),
        alarms=sum(len({one.about for one in some if one.watch is watch}) for some in told)
        if per_tester
        else len(alarms),
    )
