"""Letters worked by hand where a test failed, and where the law wants one to leave in time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from tests.oracle.every.asking import Book, Rule
from tests.oracle.every.worked.shape import Case, book, within


def rung(key: str, trigger: str, number: int, **more: object) -> Rule:
    """A rung for everybody."""
    return {"key": key, "trigger": trigger, "kinds": [], "gap": 0} | within(number) | more


@dataclass(frozen=True, kw_only=True)
class Letters:
    """A story, daily runs from its day for so many days, and what then leaves."""

    name: str
    book: Book
    facts: str
    first: str
    days: int
    leaves: tuple[str, ...]  # "repair 2025-01-20", with " late" behind it past the latest day
    words: str

    @property
    def case(self) -> Case:
        return Case(
            name=self.name,
            rule="11",
            book=self.book,
            facts=self.facts,
            as_of=self.first,
            standing="",
            rows=(),
            words=self.words,
        )

    @property
    def runs(self) -> list[date]:
        first = date.fromisoformat(self.first)
        return [first + timedelta(days=number) for number in range(self.days)]

    @property
    def expected(self) -> list[tuple[str, date, bool]]:
        told = [line.split() for line in self.leaves]
        return [(key, date.fromisoformat(on), bool(late)) for key, on, *late in told]


OVERDUE = [
    rung("first-overdue", "due", 1),
    rung("second-overdue", "due", 1, after="first-overdue", gap=14),
]
LETTERS = (
    Letters(
        name="without days to cure the repair notice still goes before what is overdue",
        book=book(cures=[], rungs=[rung("repair", "failed", 3, working=True), *OVERDUE]),
        facts="passed 2024-01-10, failed 2025-01-15",
        first="2025-01-15",
        days=30,
        leaves=("repair 2025-01-20", "first-overdue 2025-01-21", "second-overdue 2025-02-04"),
        words="Due 10 January; Wed 15 + 3 days of work: 16, 17, 20. Then one a day, then 14 days.",
    ),
    Letters(
        name="days to cure that end before the repair notice do not overtake it",
        book=book(cures=[within(0)], rungs=[rung("repair", "failed", 2), *OVERDUE]),
        facts="passed 2024-01-10, failed 2024-12-01",
        first="2024-12-01",
        days=20,
        leaves=("repair 2024-12-03", "first-overdue 2024-12-04", "second-overdue 2024-12-18"),
        words="To be cured by 1 Dec, + 1 = 2 Dec, but the notice of 1 + 2 = 3 Dec first.",
    ),
    Letters(
        name="a repair notice without a day holds nothing back",
        book=book(cures=[], rungs=[rung("repair", "failed", 0, without_day=True), OVERDUE[0]]),
        facts="passed 2024-01-10, failed 2025-01-15",
        first="2025-01-15",
        days=5,
        leaves=("first-overdue 2025-01-15",),
        words="Its day is not transcribed: it leaves by a person's hand alone.",
    ),
    Letters(
        name="a clock that two things stop stands while one of them does",
        book=book(rungs=OVERDUE),
        facts="passed 2024-01-10, stopped 2025-01-05 for an objection, "
        "stopped 2025-01-08 for a letter, restarted 2025-01-12 for an objection",
        first="2025-01-14",
        days=30,
        leaves=(),
        words="Overdue since 11 January; the letter of 8 January is not settled.",
    ),
    Letters(
        name="a clock that two things stopped runs again once both have ended",
        book=book(rungs=OVERDUE),
        facts="passed 2024-01-10, stopped 2025-01-05 for an objection, "
        "stopped 2025-01-08 for a letter, restarted 2025-01-12 for an objection, "
        "restarted 2025-01-14 for a letter",
        first="2025-01-14",
        days=16,
        leaves=("first-overdue 2025-01-14", "second-overdue 2025-01-28"),
        words="11 January lies in 5 to 13 January, so the 14th; then 14 days.",
    ),
    Letters(
        name="what did not stop a clock does not start it",
        book=book(rungs=OVERDUE),
        facts="passed 2024-01-10, stopped 2025-01-05 for an objection, restarted 2025-01-12",
        first="2025-01-20",
        days=30,
        leaves=(),
        words="The objection of 5 January is not settled.",
    ),
    Letters(
        name="a notice in advance that its day is missed goes at once and late",
        book=book(rungs=[rung("certified", "due", -45, latest=-15)]),
        facts="passed 2024-01-10, idled 2024-11-01, resumed 2025-01-02",
        first="2025-01-02",
        days=5,
        leaves=("certified 2025-01-02 late",),
        words="45 days before 12 January is 28 Nov; it opened on 2 Jan: at once, and late.",
    ),
    Letters(
        name="what follows the due date waits as long as the notice in advance was late",
        book=book(
            rungs=[rung("certified", "due", -45, latest=-15), rung("first-overdue", "due", 1)]
        ),
        facts="passed 2024-01-10",
        first="2024-12-31",
        days=17,
        leaves=("certified 2024-12-31 late", "first-overdue 2025-01-16"),
        words="By 26 Dec at the latest, left 31 Dec: 5 days late, so 11 January + 5.",
    ),
    Letters(
        name="a notice in time shifts nothing",
        book=book(
            rungs=[rung("certified", "due", -45, latest=-15), rung("first-overdue", "due", 1)]
        ),
        facts="passed 2024-01-10",
        first="2024-12-26",
        days=17,
        leaves=("certified 2024-12-26", "first-overdue 2025-01-11"),
        words="Left on the latest day, 26 December.",
    ),
    Letters(
        name="a rung that repeats comes again until a later one is owed",
        book=book(
            rungs=[
                rung("first-overdue", "due", 1, again=7),
                rung("final", "due", 1, after="first-overdue", gap=20),
            ]
        ),
        facts="passed 2024-01-10",
        first="2025-01-11",
        days=40,
        leaves=(
            "first-overdue 2025-01-11",
            "first-overdue 2025-01-18",
            "first-overdue 2025-01-25",
            "final 2025-01-31",
        ),
        words="11, 18, 25 January; 1 February would be the next, but 11 + 20 = 31 January.",
    ),
    Letters(
        name="a rung repeats as often as its rule counts",
        book=book(rungs=[rung("reminder", "due", -10, again=7, times=2, skippable=True)]),
        facts="passed 2024-01-10",
        first="2024-12-31",
        days=40,
        leaves=("reminder 2024-12-31", "reminder 2025-01-07"),
        words="Twice in all.",
    ),
    Letters(
        name="a notice in advance of a run that came too late is told as late",
        book=book(rungs=[rung("certified", "due", -45, latest=-15)]),
        facts="passed 2024-01-10",
        first="2024-12-27",
        days=3,
        leaves=("certified 2024-12-27 late",),
        words="10 Jan - 45 = 26 Nov, and by 10 Jan - 15 = 26 December at the latest.",
    ),
)
