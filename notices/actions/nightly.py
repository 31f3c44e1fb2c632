"""What the run of a day looks after besides the ladders: errors found, reviews that are due."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from datetime import datetime, timedelta

from notices.actions.clocks import Day
from notices.actions.reports_not_counted import tell_of_reports, withdraw_mended
from notices.actions.sent_in_error import find_in_error
from notices.domain.answers import Error
from notices.models import Objection
from notices.queries.in_error import notices_in_error
from registry.changes import Hand
from registry.models import Question
from scheduling.models import DayRun

BY = "run of the day"
ALSO: list[Callable[[Day], object]] = []
"""What the floor above writes in the run of a day; each may run twice and repeats nothing."""

REVIEW = "objection to decide"


def look_after(day: Day, *, writes: bool) -> None:
    """Correct what was sent in error and ask about reviews; `writes`: new letters may go out."""
    ask_about_reviews(day)
    correct_errors(day)
    if writes:
        withdraw_mended(day)
        tell_of_reports(day)
        for act in ALSO:
            act(day)


def correct_errors(day: Day) -> int:
    """Mark notices whose cause a correction took away, and write to whom got them."""
    found: dict[Error, dict[int, str]] = defaultdict(dict)
    for one in notices_in_error(day.program, since=_since(day)):
        found[one.error][one.notice.pk] = one.reason
    hand = Hand(by=BY, at=day.at)
    for error, reasons in found.items():
        find_in_error(reasons, error=error, day=day, hand=hand)
    return sum(len(reasons) for reasons in found.values())


def ask_about_reviews(day: Day) -> None:
    """Put on Today every objection whose review day has come."""
    due = Objection.objects.filter(
        program=day.program, decided_at__isnull=True, review_on__lte=day.on
    )
    for one in due.select_related("premises"):
        Question.objects.get_or_create(
            program=day.program,
            key=f"objection:{one.pk}",
            defaults={
                "kind": REVIEW,
                "premises": one.premises,
                "text": f"The {one.kind} of {one.raised_on} by {one.raised_by} was to be looked at"
                f" by {one.review_on}. Until it is decided no letter goes."[:500],
                "detail": {"objection": one.pk},
                "raised_on": day.on,
            },
        )


def _since(day: Day) -> datetime:
    """Return from when on changes are looked at: before the last run that was finished."""
    before = DayRun.objects.filter(program=day.program, finished_at__isnull=False)
    last = before.exclude(pk=day.run.pk if day.run else 0).order_by("-as_of", "-pk").first()
    if last is None:
        return day.at - 10 * 365 * timedelta(days=1)
    return day.at - (day.on - last.as_of) - timedelta(days=2)
