"""What happened on the last days of a trial, and on which day something happens next."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Min, Q

from notices.models import Letter
from registry.models import Program
from scheduling.models import DayRun, Obligation

SHOWN_DAYS = 12
SHOWN_LETTERS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterLived:
    """A letter of a day: what it is, to whom, and what it says first."""

    id: int
    number: str
    kind: str
    to: str
    says: str
    is_order: bool
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayLived:
    """A day that was run: how many letters of each kind, the first few, and what opened."""

    day: date
    kinds: tuple[tuple[str, int], ...]
    letters: tuple[LetterLived, ...]
    opened: int
    withdrawn: int

    @property
    def count(self) -> int:
        """How many letters were composed."""
        return sum(number for _, number in self.kinds)


def next_day_of(program: Program, *, after: date) -> date | None:
    """Return the next day on which a ladder asks for something or an obligation opens.

    What is due by now and still owed is asked again the next day.
    """
    rows = Obligation.objects.filter(program=program, closed_on__isnull=True)
    found = rows.aggregate(
        opens=Min("opens_on", filter=Q(opened_on__isnull=True, opens_on__gt=after)),
        owed=Min("next_action_on", filter=Q(opened_on__isnull=False, next_action_on__gt=after)),
    )
    days = [day for day in (found["owed"], found["opens"]) if day is not None]
    return min(days, default=None)


def lived_days(program: Program) -> list[DayLived]:
    """Return the last days that were run, the newest first."""
    runs = DayRun.objects.filter(program=program, finished_at__isnull=False)
    tallies: dict[date, Counter[str]] = defaultdict(Counter)
    for day, tally in runs.order_by("-as_of", "-pk").values_list("as_of", "tally")[:60]:
        counts = {name: tally.get(name, 0) for name in ("obligations_opened", "withdrawn")}
        tallies[day].update(counts)
    shown = sorted(tallies, reverse=True)[:SHOWN_DAYS]
    letters = _letters(program, days=shown)
    return [
        DayLived(
            day=day,
            kinds=tuple(Counter(one.kind for one in letters[day]).most_common()),
            letters=tuple(letters[day][:SHOWN_LETTERS]),
            opened=tallies[day]["obligations_opened"],
            withdrawn=tallies[day]["withdrawn"],
        )
        for day in shown
    ]


def _letters(program: Program, *, days: list[date]) -> dict[date, list[LetterLived]]:
    rows = Letter.objects.filter(program=program, composed_on__in=days).order_by("pk")
    found: dict[date, list[LetterLived]] = defaultdict(list)
    for pk, number, kind, lines, is_order, state, on, headline in rows.values_list(
        "pk", "number", "kind", "address_lines", "is_order", "state", "composed_on",
        "content__headline",
    ):  # fmt: skip
        found[on].append(
            LetterLived(
                id=pk,
                number=number,
                kind=kind,
                to=lines[0] if lines else "",
                says=" ".join(headline or ()),
                is_order=is_order,
                state=state,
            )
        )
    return found
