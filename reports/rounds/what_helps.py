"""What would let a visit be planned, in a dispatcher's words: names for keys."""

from __future__ import annotations

from reports.rounds.week import Week
from scheduling.domain.rounds.helping import Help, HelpKind, helps_for
from scheduling.domain.rounds.plans import Plan


def help_words(plan: Plan, *, week: Week) -> dict[str, str]:
    """A sentence for each of the most urgent visits left out, by its key; "" for none."""
    found = helps_for(plan, problem=week.problem)
    return {key: _words(one, week=week) for key, one in found.items()}


def _words(one: Help, *, week: Week) -> str:
    who, when = _tester(one, week), f"{one.day:%A, %B} {one.day.day}" if one.day else ""
    asks = f" with {' and '.join(one.skills)}" if one.skills else ""
    return {
        HelpKind.EARLIER_START: f"{who} starting {one.minutes} minutes earlier on {when}",
        HelpKind.LATER_END: f"{who} working {one.minutes} minutes longer on {when}",
        HelpKind.LONGER_WINDOW: f"ask for longer open hours: {who} has time on {when}",
        HelpKind.LESS_NOTICE: "ask whether less notice will do, or plan later days",
        HelpKind.ONE_MORE_TESTER: f"one more tester{asks} on {when}",
        HelpKind.COORDINATES: "add latitude and longitude, or let ZIP codes place what has none",
        HelpKind.OTHER_PROMISE: f"it cannot be kept beside the promise to {_other(one, week)}",
        HelpKind.ASK_CUSTOMER: "ask the customer, or end what was asked for if it is over",
    }[one.kind]


def _tester(one: Help, week: Week) -> str:
    crew = week.days.get((one.tester, one.day)) if one.day else None
    return (crew.tester.name or crew.tester.certificate) if crew else "a tester"


def _other(one: Help, week: Week) -> str:
    visit = week.visits.get(one.other)
    return str(visit.premises) if visit else "another customer"
