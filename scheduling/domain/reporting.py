"""By which day the report of work done is in, and how long a credential holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from scheduling.domain.cycles import add_months
from scheduling.domain.facts import FactKind
from scheduling.domain.reasons import Reason
from scheduling.domain.rulebook import Attributes, Rulebook
from scheduling.domain.workdays import Holidays, days_after, in_days


@dataclass(frozen=True, slots=True)
class ReportDue:
    """The last day for a report, and why."""

    on: date
    reason: Reason


def report_due(
    *,
    rulebook: Rulebook,
    about: FactKind,
    attributes: Attributes,
    done_on: date,
    holidays: Holidays = (),
) -> ReportDue | None:
    """Return by when the report of work done on a day is in; None: the rulebook does not say.

    Example (10 working days, Oregon): tested Monday 2026-03-02, in by Monday 2026-03-16.
    """
    rule = rulebook.report_rule(about=about, attributes=attributes)
    if rule is None:
        return None
    on = days_after(done_on, rule.days, is_working=rule.is_working, holidays=holidays)
    said = f"{about} {done_on} + {in_days(rule.days, is_working=rule.is_working)} = {on}"
    return ReportDue(on, Reason(on, f"{rulebook.label}: {rule.id}", said, rule.citation))


def holds_on(*, since: date, months: int, day: date) -> bool:
    """Return whether a calibration or certificate of a day still holds on another.

    It holds from its own day through the same day so many months on, and never before
    (a test before the calibration, or after calibration + 12 months, does not count).
    """
    return since <= day <= add_months(since, months)
