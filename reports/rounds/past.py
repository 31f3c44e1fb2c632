"""What past reports say of drives and minutes: read once for a plan, and kept for looks at it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from registry.models import Program
from reports.rounds.past_drives import past_drives
from reports.rounds.past_minutes import past_samples
from reports.rounds.roads import usual_roads
from scheduling.domain.rounds.calibrating import Pace, pace_of
from scheduling.domain.rounds.learning import Learned, learned_from, times_with
from scheduling.domain.rounds.minutes import VisitTimes


@dataclass(frozen=True)
class Past:
    """The pace of past drives, None while there are too few, and the minutes of past tests."""

    pace: Pace | None
    learned: tuple[Learned, ...]

    @property
    def times(self) -> VisitTimes:
        """The minutes of visits: what the past says enough of, else the defaults."""
        return times_with(self.learned, base=VisitTimes())

    def plain(self) -> dict[str, Any]:
        """As JSON can hold it."""
        pace = self.pace
        return {
            "pace": None if pace is None else [pace.times, pace.drives, pace.days],
            "learned": [
                [one.assembly_type, _text(one.from_size), one.minutes, one.samples]
                for one in self.learned
            ],
        }


def past_again(told: Mapping[str, Any]) -> Past:
    """The past that :meth:`Past.plain` wrote."""
    pace = told["pace"]
    return Past(
        None if pace is None else Pace(*pace),
        tuple(
            Learned(kind, None if size is None else Decimal(size), minutes, samples)
            for kind, size, minutes, samples in told["learned"]
        ),
    )


def past_of(program: Program, *, today: date, learns: bool) -> Past:
    """Read the program's past; what a drive took is told from what the tests before it take."""
    learned = learned_from(past_samples(program, today=today)) if learns else ()
    times = times_with(learned, base=VisitTimes())
    drives = past_drives(program=program, roads=usual_roads(), times=times, today=today)
    return Past(pace_of(drives), learned)


def _text(size: Decimal | None) -> str | None:
    return None if size is None else str(size)
