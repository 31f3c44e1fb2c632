"""What would let a visit be planned, in a dispatcher's words: names for keys."""

from __future__ import annotations

from reports.rounds.week import Week
from scheduling.domain.rounds.helping import Help, HelpKind, helps_for
from scheduling.domain.rounds.plans import Plan


def help_words(plan: Plan, *, week: Week) -> dict[str, str]:
    """A sentence for each visit left out, by its key; none for those for whom nothing was tried."""
    helps = helps_for(plan, problem=week.problem)
    return {key: _words(one, week=week) for key, one in helps.found.items()}


def tried_words(*, untried: int, of: int) -> str:
    """For how many visits nothing was tried; empty where every one has an answer."""
    return f"what would help was tried for {of - untried:,} of {of:,}" if untried else ""


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
        HelpKind.KEEP_BY_HAND: "keep it by hand with another tester, or call the customer",
        HelpKind.MORE_APPROVED: "approve a testing company, or see to certificates and hours",
        HelpKind.MORE_VISITS: f"{who} taking one more visit on {when}",
        HelpKind.MORE_ROOM: f"{who} with {_places(one.minutes)} more in the van on {when}",
        HelpKind.LONGER_DAY: f"{who} being out {one.minutes} minutes longer on {when}",
        HelpKind.TWO_VISITS: "two visits in place of one, or a nearer tester",
        HelpKind.MORE_DAYS: "plan more days: nothing smaller that was tried is enough",
    }[one.kind]


def _places(count: int) -> str:
    return "one place" if count == 1 else f"{count} places"


def _tester(one: Help, week: Week) -> str:
    crew = week.days.get((one.tester, one.day)) if one.day else None
    return (crew.tester.name or crew.tester.certificate) if crew else "a tester"


def _other(one: Help, week: Week) -> str:
    visit = week.visits.get(one.other)
    return str(visit.premises) if visit else "another customer"
