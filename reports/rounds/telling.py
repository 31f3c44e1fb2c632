"""A kept plan told to programs and to people; both say the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from registry.models import Premises
from reports.rounds.planning import Planned
from reports.rounds.roads import attribution
from reports.rounds.what_helps import tried_words
from scheduling.domain.rounds.plans import Plan, Round, Stop, drive_minutes, work_minutes
from scheduling.domain.rounds.timing import lunch_between
from scheduling.domain.rounds.unplanned import spoken
from scheduling.domain.rounds.visits import first_key, is_second


def payload_of(planned: Planned) -> dict[str, Any]:
    """The plan as the command promises it: minutes, places and times with their offset."""
    plan, row = planned.solved.plan, planned.row
    names = _names(planned)
    return {
        "feasible": planned.solved.is_feasible,
        "visits": row.visits,
        "planned": planned_visits(plan),
        "unplanned": [
            {
                "premises": names[left.visit],
                "reason": left.words,
                "helps": planned.helps.get(left.visit, ""),
            }
            for left in plan.left_out
        ],
        "drive_minutes": row.drive_minutes,
        "work_minutes": row.work_minutes,
        "travel": _travel(planned),
        "minutes": row.minutes_from,
        "rounds": [_round(one, planned=planned, names=names) for one in plan.rounds],
    }


def lines_of(planned: Planned) -> list[str]:
    """The plan for people: a line per round, then what is left out and why, counted."""
    plan, row = planned.solved.plan, planned.row
    stops = planned_visits(plan)
    head = (
        f"{row.visits} visits from {row.from_on} for {row.days} days: {stops} planned, "
        f"{len(plan.left_out)} not. {spoken(row.drive_minutes)} of driving, "
        f"{spoken(row.work_minutes)} of work."
    )
    lines = [head]
    lines += [_line(one, planned=planned) for one in plan.rounds]
    counts = Counter(left.words for left in plan.left_out)
    lines += [f"{count:>5}  {words}" for words, count in counts.most_common()]
    untried = sum(1 for left in plan.left_out if not planned.helps.get(left.visit))
    if words := tried_words(untried=untried, of=len(plan.left_out)):
        lines.append(f"       {words}, the most urgent first")
    lines += [f"    look at: {one.words}" for one in planned.solved.violations]
    lines.append(f"Minutes of visits: {row.minutes_from}.")
    lines.append(
        f"Travel: {row.travel_how}, times {planned.roads.factor}, at {planned.roads.kmh} km/h."
    )
    credit = attribution(row.travel_how)
    return [*lines, f"{credit}."] if credit else lines


def _travel(planned: Planned) -> dict[str, Any]:
    """Which roads were used; with a road map also whose data it is made of."""
    row, roads = planned.row, planned.roads
    told = {"how": row.travel_how, "factor": roads.factor, "speed": roads.kmh}
    credit = attribution(row.travel_how)
    return {**told, "attribution": credit} if credit else told


def planned_visits(plan: Plan) -> int:
    """How many visits are in rounds; a second person's presence is no other visit."""
    return sum(1 for one in plan.rounds for stop in one.stops if not is_second(stop.visit))


def _names(planned: Planned) -> dict[str, str]:
    """A name for each visit: the account, with its address where two share the account."""
    rows = {key: visit.premises for key, visit in planned.week.visits.items()}
    counts = Counter(premises.account for premises in rows.values())
    return {key: _name(one, is_alone=counts[one.account] == 1) for key, one in rows.items()}


def _name(premises: Premises, *, is_alone: bool) -> str:
    if premises.account and is_alone:
        return premises.account
    return ", ".join(part for part in (premises.account, premises.address) if part)


def _round(one: Round, *, planned: Planned, names: dict[str, str]) -> dict[str, Any]:
    day = planned.week.problem.day_by_key[one.key]
    tester = planned.week.days[one.key].tester
    moment_of = planned.horizon.axis.moment_of
    depot = planned.week.spots[one.depot]
    lunch = lunch_between(one.stops, day=day, travel=planned.week.problem.travel)
    return {
        "tester": tester.certificate,
        "date": one.day.isoformat(),
        "start": moment_of(day.starts).isoformat(),
        "end": moment_of(day.ends).isoformat(),
        "lunch": None if lunch is None else moment_of(lunch.opens).isoformat(),
        "depot": {"lat": depot.lat, "lon": depot.lon},
        "stops": [_stop(stop, planned=planned, names=names) for stop in one.stops],
    }


def _stop(stop: Stop, *, planned: Planned, names: dict[str, str]) -> dict[str, Any]:
    spot = planned.week.spots[stop.place]
    moment_of = planned.horizon.axis.moment_of
    return {
        "premises": names[first_key(stop.visit)],
        "second_person": is_second(stop.visit),
        "by_zip": first_key(stop.visit) in planned.week.by_zip,
        "lat": spot.lat,
        "lon": spot.lon,
        "arrive": moment_of(stop.arrive).isoformat(),
        "leave": moment_of(stop.leave).isoformat(),
        "assemblies": [] if is_second(stop.visit) else _serials(stop.visit, planned=planned),
    }


def _serials(key: str, *, planned: Planned) -> Sequence[str]:
    visit = planned.week.visits[key]
    told = [work.assembly.serial for work in visit.stop.work.all()] if visit.stop else []
    due = [one.its_assembly.serial for one in planned.week.work[key]]
    return list(dict.fromkeys([*told, *due]))


def _line(one: Round, *, planned: Planned) -> str:
    tester = planned.week.days[one.key].tester
    problem = planned.week.problem
    drive = spoken(drive_minutes(one, travel=problem.travel))
    work = spoken(work_minutes(one, problem=problem))
    return (
        f"{one.day}  {tester.certificate:<12} {len(one.stops):>3} stops, "
        f"{drive} driving, {work} work"
    )
