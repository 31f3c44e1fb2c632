"""The same readings again and again: as often as chance does not bring them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal

from reports.domain.watch import Seen, Sighting, Watch, by_tester
from reports.domain.watch_odds import poisson_at_least

ALARM = 0.001
"""For a tester as a whole: the share of honest testers that chance brings here."""

LEAST_SAME = 3
LEAST_FIGURES = 2

_Figures = tuple[str, tuple[tuple[str, Decimal], ...]]


def repeated_readings(reports: Sequence[Seen]) -> Iterator[Sighting]:
    """Testers with one set of readings at three premises or more, where others have it seldom.

    How often a set comes by itself is the larger of two shares among the other testers' reports
    of the type: of the whole set, and of its readings each by itself, multiplied.
    """
    told = by_tester([one for one in reports if len(one.figures) >= LEAST_FIGURES])
    groups = {tester: _groups(some) for tester, some in told.items()}
    sets = {
        tester: Counter({k: len(g) for k, g in mine.items()}) for tester, mine in groups.items()
    }
    whole: Counter[_Figures] = Counter()
    for counts in sets.values():
        whole += counts
    singles, types = _singles(whole)
    for tester in sorted(told):
        mine_singles, mine_types = _singles(sets[tester])
        candidates = [(key, n) for key, n in sets[tester].most_common() if n >= LEAST_SAME]
        for key, _ in candidates:
            same = _one_a_place(groups[tester][key])
            if len(same) < LEAST_SAME:
                continue
            others = types[key[0]] - mine_types[key[0]]
            joint = (whole[key] - sets[tester][key] + 0.5) / (others + 1)
            apart = 1.0
            for pair in key[1]:
                single = (key[0], pair)
                apart *= (singles[single] - mine_singles[single] + 0.5) / (others + 1)
            mean = max(joint if others else 1.0, apart) * mine_types[key[0]]
            odds = poisson_at_least(len(same), mean=mean) * len(sets[tester])
            if odds < ALARM:
                yield _sighting(tester, key=key, same=same, odds=odds, mean=mean)


def _groups(reports: Sequence[Seen]) -> dict[_Figures, list[Seen]]:
    found: dict[_Figures, list[Seen]] = {}
    for one in reports:
        found.setdefault((one.type, one.figures), []).append(one)
    return found


def _singles(
    sets: Counter[_Figures],
) -> tuple[Counter[tuple[str, tuple[str, Decimal]]], Counter[str]]:
    singles: Counter[tuple[str, tuple[str, Decimal]]] = Counter()
    types: Counter[str] = Counter()
    for (type_, figures), count in sets.items():
        types[type_] += count
        for pair in figures:
            singles[type_, pair] += count
    return singles, types


def _one_a_place(same: Sequence[Seen]) -> list[Seen]:
    """One report a premises: like assemblies on one pipe may well read alike."""
    return list({one.premises_id: one for one in same}.values())


def _sighting(
    tester: str, *, key: _Figures, same: Sequence[Seen], odds: float, mean: float
) -> Sighting:
    readings = ", ".join(f"{name.replace('_', ' ')} {figure:f}" for name, figure in key[1])
    return Sighting(
        watch=Watch.REPEATS,
        about=tester,
        words=f"{key[0]} {readings} at {len(same)} premises; by other testers' reports"
        f" {mean:.1f} would be expected",
        by_chance=odds,
        tests=tuple(one.test_id for one in same),
    )
