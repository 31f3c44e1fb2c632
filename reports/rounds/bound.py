"""What binds testers' days besides a program's own visits: other programs' stops, busy hours."""

from __future__ import annotations

from collections.abc import Sequence

from reports.models import Stop
from reports.queries.busy import busy_spans
from reports.rounds.busy_days import with_busy
from reports.rounds.crews import CrewDay
from reports.rounds.elsewhere import with_others
from reports.rounds.week import Horizon, Week
from scheduling.domain.rounds.travel import Roads
from scheduling.domain.rounds.visits import Visit


def with_what_binds(
    week: Week,
    theirs: Sequence[Stop],
    *,
    crews: Sequence[CrewDay],
    horizon: Horizon,
    roads: Roads,
) -> tuple[Week, dict[str, Stop], list[Visit]]:
    """The week around fixed times, with the others' stops by key, and the busy gaps."""
    week, others = with_others(week, theirs, horizon=horizon, roads=roads)
    busy = busy_spans({day.tester.pk for day in crews}, moments=horizon.moments)
    week, gaps = with_busy(week, busy, horizon=horizon)
    return week, others, gaps
