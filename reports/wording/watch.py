"""What the page of the quality watch says of each watch: what it looks at, and what else may be."""

from __future__ import annotations

from dataclasses import dataclass

from reports.domain.watch import Watch
from reports.queries.watch import SightingShown, Watched


@dataclass(frozen=True, kw_only=True)
class WatchWords:
    """The words around one watch."""

    title: str
    how: str
    also: str


@dataclass(frozen=True, kw_only=True)
class WatchShown:
    """One watch with what it saw; the odds in words beside each."""

    key: str
    words: WatchWords
    sightings: list[tuple[SightingShown, str]]


_WORDS = {
    Watch.TIMES: WatchWords(
        title="Times that cannot both be true",
        how="One tester, or one gauge, at two premises with less time between than the way takes"
        " at 110 km/h, straight ahead, and ten minutes over.",
        also="Also: a time written down afterwards, a slip in it, an address misplaced on the map.",
    ),
    Watch.REPEATS: WatchWords(
        title="The same readings at several premises",
        how="One set of readings at three premises or more, oftener than other testers' reports of"
        " the type would bring it.",
        also="Also: a gauge that is read coarsely, new assemblies of one model, a form filled in"
        " from a sample.",
    ),
    Watch.JUMPS: WatchWords(
        title="Readings that rose without a repair",
        how="A reading more than six times the usual change above the year before, and no repair"
        " on record between.",
        also="Also: debris that cleared by itself, another supply pressure, a repair nobody wrote"
        " down, another assembly under the same serial.",
    ),
    Watch.RATES: WatchWords(
        title="Shares of failures far from those of others",
        how="Failed as found, outside the limits that hold 99.8 % of fair shares, by exact binomial"
        " odds and type by type.",
        also="Also: older or newer assemblies than others have, hard water in one quarter, a"
        " contract for repairs only.",
    ),
    Watch.DIGITS: WatchWords(
        title="Last figures unlike those of others",
        how="The tenths of all readings against those of all other testers, by chi-square at one in"
        " a thousand.",
        also="Also: a gauge with other marks, readings rounded to halves by habit.",
    ),
}


def watches_shown(watched: Watched) -> list[WatchShown]:
    """Every watch, those with something first, in the order of how plain they are."""
    shown = [
        WatchShown(
            key=watch.name.lower(),
            words=_WORDS[watch],
            sightings=[(one, odds_words(one.by_chance)) for one in some],
        )
        for watch, some in watched.told.items()
    ]
    return sorted(shown, key=lambda one: not one.sightings)


def odds_words(odds: float | None) -> str:
    """`by chance once in 40,000`; nothing where no chance is worked out."""
    if odds is None:
        return ""
    if odds < 1e-9:
        return "by chance less than once in a thousand million"
    times = 1 / odds
    rounded = round(times, -max(len(str(int(times))) - 2, 0))
    return f"by chance once in {rounded:,.0f}"
