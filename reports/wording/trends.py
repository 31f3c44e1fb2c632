"""What an assembly's page says of the course of each reading, decided before it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.safestring import SafeString, mark_safe

from reports.domain.risk import Chance, Unknown
from reports.domain.trends import DAYS_A_YEAR, Observed, Slope, Trend, current_run, trend_of
from reports.domain.wording import label
from reports.drawing.trend import DrawnTrend, TrendPoint, trend_drawing

WIDTH = 326.0
"""Of one drawing: a phone's page, and three beside each other at the desk."""


@dataclass(frozen=True, kw_only=True)
class TrendShown:
    """One reading: its last figures, its course in words, its chance, and the drawings."""

    name: str
    limit: str
    first_on: date
    last_on: date
    tests: int
    last: str
    course: str
    course_more: str
    chance: str
    chance_more: str
    drawing: SafeString


def trend_shown(
    name: str,
    history: Sequence[Observed],
    *,
    chance: Chance | Unknown | None,
    next_on: date,
) -> TrendShown | None:
    """A reading as it is shown, in psid; None where it has no limit in figures."""
    last = history[-1]
    if last.limit is None:
        return None
    trend = trend_of(history)
    called = label(name)
    drawn = _drawn(history, trend=trend, limit=last.limit, next_on=next_on, called=called)
    course, more = _course(trend)
    share, basis = _chance(chance)
    return TrendShown(
        name=called[:1].upper() + called[1:],
        limit=_figure(last.limit),
        first_on=history[0].on,
        last_on=last.on,
        tests=len(history),
        last=_last(last),
        course=course,
        course_more=more,
        chance=share,
        chance_more=basis,
        drawing=mark_safe(trend_drawing(drawn, width=WIDTH)),  # noqa: S308  (escaped when drawn)
    )


def falling_readings(histories: dict[str, list[Observed]]) -> frozenset[str]:
    """The readings whose course clearly falls."""
    slopes = {name: trend_of(history).slope for name, history in histories.items()}
    return frozenset(name for name, slope in slopes.items() if slope and slope.high < 0)


def _course(trend: Trend) -> tuple[str, str]:
    slope = trend.slope
    if slope is None:
        return "", trend.why_not
    verb = "holds" if not slope.is_clear else ("rises" if slope.per_year > 0 else "falls")
    told = f"{verb}, {_signed(slope.per_year)} a year"
    since = " since its repair" if trend.since_repair_on else ""
    return told, (
        f"between {_signed(slope.low)} and {_signed(slope.high)} (95 %),"
        f" {slope.points} readings{since}"
    )


def _chance(chance: Chance | Unknown | None) -> tuple[str, str]:
    if chance is None:
        return "", ""
    if isinstance(chance, Unknown):
        return "", chance.why
    return percent(chance.share), f"from {chance.steps:,} tests of peers: {chance.peers}"


def percent(share: float) -> str:
    """A chance in words: never nought, never sure."""
    if share < 0.005:
        return "under 1 %"
    return f"{min(100 * share, 99):.0f} %"


def _last(last: Observed) -> str:
    found = _figure(last.found) if last.found is not None else "no figure"
    if last.was_repaired and last.left is not None:
        return f"{found}, left at {_figure(last.left)}"
    return found


def _figure(value: float) -> str:
    return f"{value:.2f}".rstrip("0").ljust(len(f"{value:.1f}"), "0")


def _signed(value: float) -> str:
    text = f"{abs(value):.2f}"
    if float(text) == 0:
        return text
    return f"\N{MINUS SIGN}{text}" if value < 0 else f"+{text}"


def _drawn(
    history: Sequence[Observed], *, trend: Trend, limit: float, next_on: date, called: str
) -> DrawnTrend:
    points = tuple(
        TrendPoint(
            on=one.on,
            found=one.found,
            left=one.left,
            is_below=one.found_failing
            or (one.found is not None and one.limit is not None and one.found < one.limit),
        )
        for one in history
    )
    return DrawnTrend(
        points=points,
        limit=limit,
        limit_words=f"limit {_figure(limit)}",
        line=_line(history, slope=trend.slope, next_on=next_on),
        says=f"{called}: {len(points)} tests against the limit of {_figure(limit)} psid; the table"
        " beside it says how it goes.",
    )


def _line(
    history: Sequence[Observed], *, slope: Slope | None, next_on: date
) -> tuple[tuple[date, float], tuple[date, float]] | None:
    if slope is None:
        return None
    run = current_run(history)
    first = next(one.on for one in run if (one.left if one.was_repaired else one.found) is not None)
    end = max(next_on, run[-1].on + timedelta(days=1))
    years = (end - first).days / DAYS_A_YEAR
    return (first, slope.at), (end, max(slope.at + slope.per_year * years, 0.0))
