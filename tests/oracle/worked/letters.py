"""Letters worked by hand: which rung leaves on which day when the run is on given days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tests.oracle.worked.shape import Worked


@dataclass(frozen=True, kw_only=True)
class Mailed:
    """A history, the days of its runs ("daily from to" or single days), and what then leaves."""

    name: str
    book: str
    what: str
    facts: str
    runs: str
    leaves: tuple[str, ...]
    words: str

    @property
    def history(self) -> Worked:
        return Worked(
            name=self.name,
            rule="ladder",
            book=self.book,
            what=self.what,
            facts=self.facts,
            as_of="2000-01-01",
            standing="",
            dates="",
            rung="",
            rows=(),
            words=self.words,
        )

    @property
    def run_days(self) -> list[date]:
        """Single days, and "A..B" for every day from A to B."""
        found: list[date] = []
        for part in self.runs.split():
            first, _, last = part.partition("..")
            start, end = date.fromisoformat(first), date.fromisoformat(last or first)
            found += [
                date.fromordinal(day) for day in range(start.toordinal(), end.toordinal() + 1)
            ]
        return found

    @property
    def expected(self) -> list[tuple[str, date]]:
        return [(rung, date.fromisoformat(on)) for rung, on in map(str.split, self.leaves)]


MAILED = (
    Mailed(
        name="a quiet year's ladder, run daily",
        book="rolling",
        what="DC low",
        facts="passed 2025-03-05",
        runs="2025-12-20..2026-06-01",
        leaves=(
            "reminder 2026-01-19",
            "second-reminder 2026-02-18",
            "first-overdue 2026-03-06",
            "second-overdue 2026-03-20",
            "final 2026-04-04",
            "shutoff-order 2026-04-14",
        ),
        words="Due 5 March. 6 + 14 = 20 March; 20 March + 15: 11 to the 31st, 4 more; 4 + 10.",
    ),
    Mailed(
        name="a backlog of years enters at the first overdue rung and counts from there",
        book="season",
        what="DC low",
        facts="passed 2022-04-01",
        runs="2025-11-25..2026-01-31",
        leaves=(
            "first-overdue 2025-11-25",
            "second-overdue 2025-12-09",
            "final 2025-12-24",
            "shutoff-order 2026-01-03",
        ),
        words="25 Nov + 14: 5 to the 30th, 9 more; 9 + 15 = 24; 24 Dec + 10: 7 to the 31st, 3.",
    ),
    Mailed(
        name="after a month without runs one rung leaves and the next counts from it",
        book="rolling",
        what="DC low",
        facts="passed 2025-03-05",
        runs="2026-03-06 2026-04-20..2026-05-20",
        leaves=(
            "first-overdue 2026-03-06",
            "second-overdue 2026-04-20",
            "final 2026-05-05",
            "shutoff-order 2026-05-15",
        ),
        words="20 April + 15: 10 to the 30th, 5 more; 5 + 10.",
    ),
    Mailed(
        name="an installation's ladder has no reminders",
        book="anniversary",
        what="RP high",
        facts="installed 2025-03-01",
        runs="2025-03-01..2025-05-01",
        leaves=(
            "test-owed 2025-03-01",
            "first-overdue 2025-03-12",
            "second-overdue 2025-03-26",
            "final 2025-04-10",
            "shutoff-order 2025-04-20",
        ),
        words="Due 11 March. 12 + 14 = 26; 26 March + 15: 5 to the 31st, 10 more; 10 + 10.",
    ),
    Mailed(
        name="the notice of the test owed goes late, and the overdue rung the day after it",
        book="anniversary",
        what="RP high",
        facts="installed 2025-03-01",
        runs="2025-03-20..2025-04-05",
        leaves=("test-owed 2025-03-20", "first-overdue 2025-03-21", "second-overdue 2025-04-04"),
        words="At most one a day; 21 March + 14: 10 to the 31st, 4 more.",
    ),
    Mailed(
        name="once failed the overdue rungs count from the cure date",
        book="rolling",
        what="DC low",
        facts="passed 2025-01-10, failed 2025-06-01",
        runs="2025-06-01..2025-08-31",
        leaves=(
            "repair 2025-06-01",
            "first-overdue 2025-06-23",
            "second-overdue 2025-07-07",
            "final 2025-07-22",
            "shutoff-order 2025-08-01",
        ),
        words="1 + 21 = 22 June, the day after; 23 June + 14: 7 to the 30th, 7; 7 + 15; 22 July +"
        " 10: 9 to the 31st, 1. The due date of 10 January 2026 does not matter.",
    ),
    Mailed(
        name="a failure in mid-ladder holds the ladder until the cure date",
        book="rolling",
        what="DC high",
        facts="passed 2023-06-15, failed 2024-06-28",
        runs="2024-06-16..2024-08-31",
        leaves=(
            "first-overdue 2024-06-16",
            "repair 2024-06-28",
            "second-overdue 2024-07-05",
            "final 2024-07-20",
            "shutoff-order 2024-07-30",
        ),
        words="Second would be 16 + 14 = 30 June; cure is 28 June + 7 = 5 July: 2 to the 30th, 5.",
    ),
    Mailed(
        name="a pass ends the ladder",
        book="rolling",
        what="DC low",
        facts="passed 2025-03-05, passed 2026-03-10",
        runs="2026-03-06..2026-05-01",
        leaves=("first-overdue 2026-03-06",),
        words="Closed on 10 March; the next one opens in January 2027.",
    ),
    Mailed(
        name="while idle nothing leaves and the ladder stands",
        book="rolling",
        what="DC low",
        facts="passed 2024-06-15, idled 2025-06-20, resumed 2025-08-01",
        runs="2025-06-16..2025-09-01",
        leaves=("first-overdue 2025-06-16", "second-overdue 2025-08-12", "final 2025-08-27"),
        words="Due becomes 1 Aug + 10; the second waits for the day after it, 12 August; + 15.",
    ),
)
