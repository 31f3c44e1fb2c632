"""What is to be visited: premises with tests due, and what stands there already as promised."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from django.db.models import Q, QuerySet

from registry.domain.assigned import HowAssigned
from registry.domain.kinds import Hazard
from registry.models import Assignment, Firm, Premises, Program
from reports.models import NotForVisit, Stop
from reports.rounds.already_done import without_done
from reports.rounds.asked_not import standing_wishes
from reports.rounds.jobs import firms_asked, standing_jobs, with_a_job
from reports.rounds.shares import Companies, share_of
from scheduling.domain.rounds.priority import DueTest
from scheduling.models import Obligation

BY_PLAN: Final = HowAssigned.PLAN
"""How an assignment was made: those a plan made, the next plan may take back."""


FIXED: Final = Q(promised_at__isnull=False) | Q(pinned_at__isnull=False)
"""The stops that a replan leaves where they are."""


@dataclass(frozen=True)
class DueVisit:
    """A premises to visit: its due obligations, most pressing first, and what binds it.

    ``stop`` is a stop inside the plan's days that was promised or pinned, ``second`` that of a
    second person there. ``firms`` are the testing companies a person assigned or a customer asked
    for; empty when any approved one may come. ``wishes`` is what the customer asked not to have.
    """

    premises: Premises
    obligations: tuple[Obligation, ...]
    stop: Stop | None = None
    firms: tuple[Firm, ...] = ()
    second: Stop | None = None
    wishes: tuple[NotForVisit, ...] = ()

    @property
    def key(self) -> str:
        """The visit's key in the plan: one visit per premises."""
        return str(self.premises.pk)


def due_visits(
    *,
    program: Program,
    last_day: date,
    days: tuple[datetime, datetime],
    promises_from: datetime,
    today: date,
    is_assigned: bool = True,
    companies: Companies = (),
) -> list[DueVisit]:
    """Premises with obligations open by the last day, in a fixed order.

    Where not all that is due ``is_assigned``, only what a person assigned or a customer asked for.
    With ``companies`` only their share of it.

    ``days`` are the moments between which a promised stop is part of this plan. A premises
    with another promise after ``promises_from`` is left away: its customer knows when
    somebody comes.
    """
    due = due_by_premises(program=program, last_day=last_day)
    due = without_done(due, program=program, before=days[0], today=today)
    firms = testing_firms(program)
    jobs = standing_jobs(program=program)
    if not is_assigned:
        due = with_a_job(due, assigned=firms, jobs=jobs)
    if companies:
        due = share_of(
            due,
            program=program,
            companies=companies,
            assigned=firms,
            jobs=jobs,
            after=promises_from,
        )
    promised = promised_stops(program=program, companies=companies)
    standing = [stop for stop in promised if stop.arrives_at >= promises_from]
    inside, seconds, outside = _parted(standing, days=days)
    premises = Premises.objects.filter(program=program, pk__in={*due, *inside} - outside)
    wishes = standing_wishes(program=program, from_on=today)
    return [
        DueVisit(
            premises=one,
            obligations=tuple(due.get(one.pk, ())),
            stop=inside.get(one.pk),
            firms=firms.get(one.pk) or firms_asked(jobs.get(one.pk, ())),
            second=seconds.get(inside[one.pk].pk) if one.pk in inside else None,
            wishes=wishes.get(one.pk, ()),
        )
        for one in premises.order_by("account", "address", "pk")
    ]


def _parted(
    standing: Iterable[Stop], *, days: tuple[datetime, datetime]
) -> tuple[dict[int, Stop], dict[int, Stop], set[int]]:
    """The promised stops inside the days by premises, the second persons' by their first stop.

    And the premises that are promised another day only.
    """
    rows = list(standing)
    seconds = {one.second_of_id: one for one in rows if one.second_of_id is not None}
    first = [one for one in rows if one.second_of_id is None]
    inside = {one.premises_id: one for one in first if days[0] <= one.arrives_at < days[1]}
    return inside, seconds, {one.premises_id for one in first} - set(inside)


def promised_stops(*, program: Program, companies: Companies = ()) -> QuerySet[Stop]:
    """Stops that a customer was told of, or a person pinned, and that nobody called off.

    With ``companies`` only on the days of their testers.
    """
    found = Stop.objects.filter(FIXED, program=program, cancelled_at__isnull=True)
    if companies:
        found = found.filter(round__firm__in=companies)
    return (
        found.select_related("round__tester", "premises")
        .prefetch_related("work__assembly__connection")
        .order_by("arrives_at", "pk")
    )


def due_by_premises(
    *, program: Program, last_day: date, among: QuerySet[Premises] | None = None
) -> Mapping[int, Sequence[Obligation]]:
    """The tests open by a day at each premises, one per assembly, the most pressing first.

    With ``among`` no other premises' rows are read.
    """
    owed = tests_due(program=program, last_day=last_day)
    if among is not None:
        owed = owed.filter(assembly__premises__in=among.values("pk"))
    return by_premises(owed)


def due_test(obligation: Obligation) -> DueTest:
    """The obligation as the priority rules read it; once failed its cure date counts."""
    return DueTest(
        due_on=obligation.cure_by or obligation.due_on,
        failed=obligation.failed_on is not None,
        high_hazard=obligation.its_assembly.hazard != Hazard.LOW,
        target_on=obligation.target_on,
    )


def tests_due(*, program: Program, last_day: date) -> QuerySet[Obligation]:
    """Not closed and open by the last day; an assembly out of use or removed owes no visit."""
    at_work = Q(assembly__state__isnull=True) | Q(
        assembly__state__removed_on__isnull=True, assembly__state__idle_since__isnull=True
    )
    return (
        Obligation.objects.filter(
            at_work,
            program=program,
            assembly__isnull=False,
            kind="test",
            closed_on__isnull=True,
            opens_on__lte=last_day,
        )
        .select_related("assembly__connection")
        .order_by("due_on", "assembly__serial_key", "pk")
    )


def by_premises(obligations: Iterable[Obligation]) -> Mapping[int, Sequence[Obligation]]:
    """The obligations of each premises, one per assembly (the earliest due)."""
    found: dict[int, list[Obligation]] = defaultdict(list)
    seen: set[int] = set()
    for obligation in obligations:
        assembly = obligation.its_assembly
        if assembly.pk not in seen:
            seen.add(assembly.pk)
            found[assembly.premises_id].append(obligation)
    return found


def testing_firms(program: Program) -> Mapping[int, tuple[Firm, ...]]:
    """Testing companies that a person (or a load) assigned to each premises."""
    found: dict[int, tuple[Firm, ...]] = defaultdict(tuple)
    for row in by_a_person(program).select_related("firm").order_by("firm__key"):
        found[row.premises_id] += (row.firm,)
    return found


def by_a_person(program: Program) -> QuerySet[Assignment]:
    """The assignments that stand and that no plan made."""
    found = Assignment.objects.filter(program=program, ended_on__isnull=True)
    return found.exclude(how=BY_PLAN)
