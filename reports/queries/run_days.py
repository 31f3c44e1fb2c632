"""The runs of a program by the day they ran: how many, when, what they did together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from registry.models import Program
from scheduling.models import DayRun

DID = ("obligations_opened", "notices", "letters", "withdrawn", "skipped")
WAITS = ("waiting_for_release", "waiting_for_quota")
DAYS_SHOWN = 60


@dataclass(frozen=True, kw_only=True)
class RunDay:
    """All runs of one day: what they did, summed; what waited after the last that ended."""

    on: date
    runs: int
    first_at: datetime
    last_at: datetime
    did: dict[str, int]
    waits: dict[str, int]
    problem: str
    unfinished: int


def run_days(program: Program, *, today: date) -> list[RunDay]:
    """The days run in the last sixty, newest first: one query."""
    rows = DayRun.objects.filter(program=program, as_of__gt=today - timedelta(days=DAYS_SHOWN))
    by_day: dict[date, list[DayRun]] = defaultdict(list)
    for row in rows.order_by("started_at", "id"):
        by_day[row.as_of].append(row)
    return [_day(on, by_day[on]) for on in sorted(by_day, reverse=True)]


def _day(on: date, runs: list[DayRun]) -> RunDay:
    ended = [run for run in runs if run.finished_at is not None]
    last = runs[-1]
    good = [run for run in ended if not run.problem]
    return RunDay(
        on=on,
        runs=len(runs),
        first_at=runs[0].started_at,
        last_at=last.finished_at or last.started_at,
        did={name: _sum(good, name) for name in DID},
        waits={name: int(good[-1].tally.get(name, 0)) if good else 0 for name in WAITS},
        problem=last.problem,
        unfinished=len(runs) - len(ended),
    )


def _sum(runs: Iterable[DayRun], name: str) -> int:
    return sum(int(run.tally.get(name, 0)) for run in runs)
