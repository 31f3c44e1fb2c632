"""Two rulebooks side by side: which due dates move, by how much, and the letters of each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from scheduling.domain.forecast import ASSUMED, Months, Window


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """What one rulebook asks of one subject and kind of work on the day the draft takes effect.

    `due_on` None: nothing is owed. `letters` are those of the months of the window.
    """

    due_on: date | None
    is_overdue: bool
    letters: Months


@dataclass(frozen=True, slots=True, kw_only=True)
class Bucket:
    """A span of days by which due dates move, and how many of them do."""

    words: str
    least: int
    most: int
    dates: int


_EDGES: tuple[tuple[str, int, int], ...] = (
    ("more than a year earlier", -100_000, -366),
    ("6 to 12 months earlier", -365, -183),
    ("3 to 6 months earlier", -182, -92),
    ("1 to 3 months earlier", -91, -31),
    ("up to a month earlier", -30, -1),
    ("up to a month later", 1, 30),
    ("1 to 3 months later", 31, 91),
    ("3 to 6 months later", 92, 182),
    ("6 to 12 months later", 183, 365),
    ("more than a year later", 366, 100_000),
)


@dataclass(slots=True, kw_only=True)
class Comparison:
    """The tally of a comparison; it only grows, and may be carried on from where it stood.

    `moved_by` counts due dates by the days they move (negative: earlier). `begins`: owed
    under the draft only; `ends`: owed now only. `in_gap`: assemblies for which the draft
    says nothing yet. `done` of `assemblies` are compared.
    """

    effective_on: date
    assemblies: int = 0
    done: int = 0
    same: int = 0
    begins: int = 0
    ends: int = 0
    overdue_now: int = 0
    overdue_then: int = 0
    overdue_at_once: int = 0
    overdue_no_more: int = 0
    in_gap: int = 0
    moved_by: Counter[int] = field(default_factory=Counter)
    letters_now: list[int] = field(default_factory=list)
    letters_then: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.letters_now = self.letters_now or list(self.window.none)
        self.letters_then = self.letters_then or list(self.window.none)

    @property
    def window(self) -> Window:
        """The months letters are counted in."""
        return Window(start=self.effective_on)

    @property
    def moved(self) -> int:
        """Due dates that move."""
        return sum(self.moved_by.values())

    @property
    def earlier(self) -> int:
        """Due dates that come earlier."""
        return sum(n for days, n in self.moved_by.items() if days < 0)

    @property
    def later(self) -> int:
        """Due dates that come later."""
        return sum(n for days, n in self.moved_by.items() if days > 0)

    @property
    def is_whole(self) -> bool:
        """True once every assembly is compared."""
        return self.done >= self.assemblies

    def add(self, *, now: Side, then: Side, times: int = 1) -> None:
        """Count so many subjects that stand alike under each of the two."""
        if now.due_on is None and then.due_on is None:
            return
        if now.due_on is None:
            self.begins += times
        elif then.due_on is None:
            self.ends += times
        elif now.due_on == then.due_on:
            self.same += times
        else:
            self.moved_by[(then.due_on - now.due_on).days] += times
        self._count_overdue(now=now, then=then, times=times)
        for place, (a, b) in enumerate(zip(now.letters, then.letters, strict=True)):
            self.letters_now[place] += a * times
            self.letters_then[place] += b * times

    def _count_overdue(self, *, now: Side, then: Side, times: int) -> None:
        self.overdue_now += times * now.is_overdue
        self.overdue_then += times * then.is_overdue
        self.overdue_at_once += times * (then.is_overdue and not now.is_overdue)
        self.overdue_no_more += times * (now.is_overdue and not then.is_overdue)

    @property
    def buckets(self) -> list[Bucket]:
        """The moves by how far they go, from the earliest to the latest."""
        return [
            Bucket(
                words=words,
                least=least,
                most=most,
                dates=sum(n for days, n in self.moved_by.items() if least <= days <= most),
            )
            for words, least, most in _EDGES
        ]

    @property
    def months(self) -> list[tuple[str, int, int]]:
        """Each month with the letters under the rules in force and under the draft."""
        return list(zip(self.window.labels, self.letters_now, self.letters_then, strict=True))

    def to_json(self) -> dict[str, Any]:
        """Return what `compare_rulebooks --json` prints (docs/rulebooks-compare.md)."""
        return {
            "effective_on": self.effective_on.isoformat(),
            "assemblies": self.assemblies,
            "due_dates": {
                "moved": self.moved,
                "earlier": self.earlier,
                "later": self.later,
                "same": self.same,
                "begin": self.begins,
                "end": self.ends,
                "in_gap": self.in_gap,
            },
            "moved_by_days": [
                {"days": days, "due_dates": n} for days, n in sorted(self.moved_by.items())
            ],
            "histogram": [{"moves": b.words, "due_dates": b.dates} for b in self.buckets],
            "overdue": {
                "now": self.overdue_now,
                "then": self.overdue_then,
                "at_once": self.overdue_at_once,
                "no_more": self.overdue_no_more,
            },
            "letters": [
                {"month": month, "now": now, "then": then} for month, now, then in self.months
            ],
            "assumed": ASSUMED,
        }

    def state(self) -> dict[str, Any]:
        """Return all there is to carry a comparison on with, in what JSON can hold."""
        return {
            "effective_on": self.effective_on.isoformat(),
            "moved_by": sorted(self.moved_by.items()),
            "letters_now": self.letters_now,
            "letters_then": self.letters_then,
            **{name: getattr(self, name) for name in _COUNTS},
        }

    @classmethod
    def from_state(cls, state: Mapping[str, Any]) -> Comparison:
        """Return the comparison that `state` was taken of."""
        return cls(
            effective_on=date.fromisoformat(state["effective_on"]),
            moved_by=Counter({int(days): int(n) for days, n in state["moved_by"]}),
            letters_now=[int(n) for n in state["letters_now"]],
            letters_then=[int(n) for n in state["letters_then"]],
            **{name: int(state[name]) for name in _COUNTS},
        )


_COUNTS = (
    "assemblies",
    "done",
    "same",
    "begins",
    "ends",
    "overdue_now",
    "overdue_then",
    "overdue_at_once",
    "overdue_no_more",
    "in_gap",
)
