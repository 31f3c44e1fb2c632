"""What other programs' visits take of the same vans: a tester has one van for all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from reports.models import PlanningRules, Stop, StopWork
from scheduling.domain.rounds.visits import Visit, WorkingDay


def spaces_elsewhere(theirs: Sequence[Stop], *, days: Sequence[WorkingDay]) -> Mapping[int, int]:
    """Places in the van by the stops' numbers, as the program that planned them counts.

    No more than a day's van has: a day that another program overfills is full, and its hours stay
    taken. A second person brings nothing. Nothing is read where no van has a number of places.
    """
    left = {day.key: day.places for day in days if day.places is not None}
    if not left:
        return {}
    asked = _asked([stop for stop in theirs if stop.second_of_id is None])
    spaces: dict[int, int] = {}
    for stop in theirs:
        key = (str(stop.round.tester_id), stop.round.on) if stop.round is not None else None
        if key in left and asked[stop.pk]:
            spaces[stop.pk] = min(asked[stop.pk], left[key])
            left[key] -= spaces[stop.pk]
    return spaces


def van_words(visits: Sequence[Visit], *, day: WorkingDay) -> str:
    """How full the van is; empty where nothing takes a place, or nobody said how many it has."""
    taken = sum(visit.space for visit in visits)
    if day.places is None or not taken:
        return ""
    return f"parts take {taken} of {day.places} places in the van"


def _asked(stops: Sequence[Stop]) -> Counter[int]:
    """How many assemblies of each stop are so large that parts for them are brought along."""
    rules = PlanningRules.objects.filter(program__in={stop.program_id for stop in stops})
    rows = rules.values_list("program_id", "parts_from_in")
    sizes = {program: size for program, size in rows if size is not None}
    found: Counter[int] = Counter()
    if not sizes:
        return found
    numbers = [stop.pk for stop in stops if stop.program_id in sizes]
    work = StopWork.objects.filter(stop__in=numbers)
    for stop, program, size in work.values_list("stop_id", "stop__program_id", "assembly__size_in"):
        found[stop] += size >= sizes[program]
    return found
