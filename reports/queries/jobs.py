"""Jobs that stand, and the list of whom to call: due work that nobody assigned or asked for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from registry.domain.kinds import PartyRole
from registry.models import Premises, PremisesParty, Program
from reports.models import CallMade, Job
from reports.rounds.due_work import due_by_premises, testing_firms
from reports.rounds.jobs import standing_jobs, with_a_job
from scheduling.models import Obligation

AHEAD = timedelta(days=60)
"""How far ahead a call list looks: our own choice, enough to find a day together."""

MOST = 300


@dataclass(frozen=True)
class ToCall:
    """A premises to call about: what is due, whom to ring, when, and the last call."""

    premises: Premises
    owed: tuple[Obligation, ...]
    standing: str
    who: str
    phone: str
    last: CallMade | None

    @property
    def first(self) -> Obligation:
        """What is due earliest: its page says why."""
        return min(self.owed, key=lambda one: one.cure_by or one.due_on)

    @property
    def due_on(self) -> date:
        """The earliest day of what is due."""
        return min(one.cure_by or one.due_on for one in self.owed)

    @property
    def latest_due(self) -> date:
        """The latest day: a no holds for what was due by it."""
        return max(one.cure_by or one.due_on for one in self.owed)


@dataclass(frozen=True)
class CallList:
    """Whom to call now, who is to be called on a later day, and who said no."""

    now: tuple[ToCall, ...]
    later: tuple[ToCall, ...]
    said_no: tuple[ToCall, ...]
    total: int
    """How many are to be called now; only the first of them are in ``now``."""


def call_list(
    program: Program, *, today: date, among: QuerySet[Premises] | None = None
) -> CallList:
    """Due work of the next sixty days without a job, the most pressing first.

    ``among`` premises of a testing company: only there, and an assignment to it is no job; it is
    why the company calls.
    """
    last_day = today + AHEAD
    due = due_by_premises(program=program, last_day=last_day, among=among)
    assigned = testing_firms(program) if among is None else {}
    jobs = standing_jobs(program=program, among=among)
    with_jobs = with_a_job(due, assigned=assigned, jobs=jobs)
    without: dict[int, Sequence[Obligation]] = {}
    for premises, owed in due.items():
        covered = {one.pk for one in with_jobs.get(premises, ())}
        if rest := [one for one in owed if one.pk not in covered]:
            without[premises] = rest
    every = _rows(program, without, today=today, among=among)
    every.sort(key=lambda one: (one.standing != "failed", one.due_on, one.premises.pk))
    later = [one for one in every if _is_later(one, today=today)]
    said_no = [one for one in every if _said_no(one)]
    put_off = {one.premises.pk for one in (*later, *said_no)}
    now = [one for one in every if one.premises.pk not in put_off]
    return CallList(tuple(now[:MOST]), tuple(later[:MOST]), tuple(said_no[:MOST]), len(now))


def _rows(
    program: Program,
    due: Mapping[int, Sequence[Obligation]],
    *,
    today: date,
    among: QuerySet[Premises] | None,
) -> list[ToCall]:
    premises = Premises.objects.filter(program=program, pk__in=due)
    last = last_calls(program, among=among)
    ring = whom_to_ring(list(premises))
    return [
        ToCall(
            premises=one,
            owed=tuple(due[one.pk]),
            standing=_standing(due[one.pk], today=today),
            who=ring[one.pk].who,
            phone=ring[one.pk].phone,
            last=last.get(one.pk),
        )
        for one in premises
    ]


def last_calls(program: Program, *, among: QuerySet[Premises] | None = None) -> dict[int, CallMade]:
    """The newest call to each premises; of all, or among these."""
    calls = CallMade.objects.filter(program=program)
    if among is not None:
        calls = calls.filter(premises__in=among.values("pk"))
    return {call.premises_id: call for call in calls.order_by("at", "pk")}


_FIRST_TO_RING = (PartyRole.MANAGER, PartyRole.OCCUPANT, PartyRole.CUSTOMER, PartyRole.OWNER)


@dataclass(frozen=True)
class ToRing:
    """Whom to ring at a premises, and the number; empty where none is on record."""

    who: str = ""
    phone: str = ""


def whom_to_ring(premises: Sequence[Premises]) -> dict[int, ToRing]:
    """The number of the premises, else of the first party with one; who is the first at all."""
    found: dict[int, list[tuple[bool, int, str, str]]] = defaultdict(list)
    roles = PremisesParty.objects.filter(
        premises__in=[one.pk for one in premises], until_on__isnull=True
    ).select_related("party")
    ranks = {role.value: rank for rank, role in enumerate(_FIRST_TO_RING)}
    for one in roles:
        rank = ranks.get(one.role, len(ranks))
        found[one.premises_id].append((not one.party.phone, rank, one.party.name, one.party.phone))
    best = {pk: min(rows)[2:] for pk, rows in found.items()}
    return {
        one.pk: ToRing(best.get(one.pk, ("", ""))[0], one.phone or best.get(one.pk, ("", ""))[1])
        for one in premises
    }


def _standing(owed: Sequence[Obligation], *, today: date) -> str:
    if any(one.failed_on is not None for one in owed):
        return "failed"
    return "overdue" if any(one.due_on < today for one in owed) else "due"


def _is_later(one: ToCall, *, today: date) -> bool:
    last = one.last
    return (
        last is not None
        and last.outcome == CallMade.AGAIN
        and last.again_on is not None
        and last.again_on > today
    )


def _said_no(one: ToCall) -> bool:
    last = one.last
    if last is None or last.outcome != CallMade.NO:
        return False
    return last.for_due_on is not None and one.latest_due <= last.for_due_on


def jobs_of(jobs: QuerySet[Job]) -> list[Job]:
    """Those of the jobs that stand, newest first."""
    found = jobs.filter(cancelled_at__isnull=True)
    return list(found.select_related("premises", "firm")[:MOST])
