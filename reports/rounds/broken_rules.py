"""What a day breaks, in a dispatcher's words: names for keys, one sentence for each broken rule."""

from __future__ import annotations

from collections.abc import Iterable

from reports.rounds.as_planned import AsPlanned
from reports.rounds.asked_not import concerns
from reports.rounds.day_writing import DayKey
from scheduling.domain.rounds.by_hand import wanted_times
from scheduling.domain.rounds.checking import APART, Rule, Violation, violations
from scheduling.domain.rounds.plans import Cause, LeftOut, Plan, Round
from scheduling.domain.rounds.visits import first_key

SAYS = {
    Rule.HOURS: "the day is longer than the tester’s hours",
    Rule.LONGEST_DAY: "the tester is out longer than the longest day",
    Rule.LUNCH: "no time is left for the pause",
    Rule.WINDOW: "the visit is outside the open hours there",
    Rule.NOTICE: "the notice that the customer is owed is not over by then",
    Rule.SKILL: "the tester does not bring what the visit asks for",
    Rule.FORBIDDEN: "the customer asked not to have this tester, or nobody on this day",
    Rule.TWO_PEOPLE: "it takes two people at once, and one of them is missing",
    Rule.MOST_VISITS: "more visits than the tester takes in a day",
    Rule.ROOM: "the parts for these visits need more room than the van has",
    Rule.PROMISE: "the customer was promised another time or tester",
    Rule.TRAVEL: "the way there takes longer than the time left for it",
}


def broken(planned: AsPlanned, days: Iterable[DayKey]) -> tuple[str, ...]:
    """What these days break now; empty for days that can be driven as they stand."""
    problem = planned.week.problem
    rounds = []
    asked = list(days)
    dates = {on for _tester, on in asked}
    # Whoever else is out on that date may be the second person somewhere.
    others = [key for key in planned.draft.orders if key[1] in dates and key not in asked]
    for key in (*asked, *others):
        day = problem.day_by_key[key]
        order = planned.draft.orders.get(key, [])
        stops, _keeps = wanted_times(order, day=day, travel=problem.travel)
        if stops:
            rounds.append(Round(tester=key[0], day=key[1], depot=day.depot, stops=stops))
    here = {stop.visit for one in rounds for stop in one.stops}
    rest = tuple(
        LeftOut(visit=visit.key, cause=Cause.NOT_ENOUGH_HOURS, words="not looked at")
        for visit in problem.visits
        if visit.key not in here
    )
    found = violations(Plan(rounds=tuple(rounds), left_out=rest, how="by hand"), problem=problem)
    told = [_said(one, planned) for one in found if (one.tester, one.day) in asked]
    return tuple(dict.fromkeys(told))


def _said(one: Violation, planned: AsPlanned) -> str:
    assert one.tester is not None
    assert one.day is not None
    crew = planned.week.days.get((one.tester, one.day))
    tester = (crew.tester.name or crew.tester.certificate) if crew else "The tester"
    visit = planned.week.visits.get(first_key(one.visit or ""))
    where = f", {visit.premises}" if visit else ""
    says = SAYS.get(one.rule, one.rule.value)
    if one.rule is Rule.TWO_PEOPLE and APART in one.words:
        says = "it takes two people at once, and they are not there together"
    if one.rule is Rule.FORBIDDEN and visit is not None:
        whose = [
            wish.reason
            for wish in visit.wishes
            if concerns(wish, tester_id=int(one.tester), on=one.day)
        ]
        says += f" ({'; '.join(whose)})" if whose else ""
    return f"{tester}, {one.day:%A}{where}: {says}."
