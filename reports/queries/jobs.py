"""Jobs that stand, and the list of whom to call: due work that nobody assigned or asked for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django.db.models import Case, Exists, Max, Min, OuterRef, Q, QuerySet, When
from django.db.models.functions import Coalesce

from registry.domain.kinds import PartyRole
from registry.models import Premises, PremisesParty, Program
from reports.models import CallMade, Job
from reports.rounds.due_work import by_a_person, by_premises, tests_due
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
    why the company calls. The database leaves out, sorts and cuts; only rows shown are read.
    """
    owed = _without_job(program, today=today, among=among)
    put_off = _newest_calls(program).filter(outcome=CallMade.AGAIN, again_on__gt=today)
    is_later = Q(assembly__premises__in=put_off.values("premises"))
    by_site = _by_site(program, owed)
    now = by_site.exclude(is_later).filter(not_refused=1)
    shown = [
        tuple(rows.values_list("assembly__premises", flat=True)[:MOST])
        for rows in (now, by_site.filter(is_later), by_site.exclude(is_later).filter(not_refused=0))
    ]
    every = _rows(program, owed, [pk for pks in shown for pk in pks], today=today)
    calls, later, said_no = (tuple(every[pk] for pk in pks) for pks in shown)
    return CallList(calls, later, said_no, now.count())


_DUE: Final = Coalesce("cure_by", "due_on")


def _without_job(
    program: Program, *, today: date, among: QuerySet[Premises] | None
) -> QuerySet[Obligation]:
    """The tests due soon that no job covers, and where nobody assigned the premises."""
    owed = tests_due(program=program, last_day=today + AHEAD)
    jobs = Job.objects.filter(
        Q(covers_until__isnull=True)
        | Q(covers_until__gte=Coalesce(OuterRef("cure_by"), OuterRef("due_on"))),
        premises=OuterRef("assembly__premises"),
        program=program,
        cancelled_at__isnull=True,
    )
    owed = owed.filter(~Exists(jobs))
    if among is not None:
        return owed.filter(assembly__premises__in=among.values("pk"))
    return owed.exclude(assembly__premises__in=by_a_person(program).values("premises"))


def _newest_calls(program: Program) -> QuerySet[CallMade]:
    newer = CallMade.objects.filter(
        Q(at__gt=OuterRef("at")) | Q(at=OuterRef("at"), pk__gt=OuterRef("pk")),
        premises=OuterRef("premises"),
    )
    return CallMade.objects.filter(~Exists(newer), program=program)


def _by_site(program: Program, owed: QuerySet[Obligation]) -> QuerySet[Any, Any]:
    """A row for each premises, failed first, then by the earliest day.

    ``not_refused`` is 1 where something is due later than what the last call said no to.
    """
    refused = _newest_calls(program).filter(
        outcome=CallMade.NO,
        premises=OuterRef("assembly__premises"),
        for_due_on__gte=Coalesce(OuterRef("cure_by"), OuterRef("due_on")),
    )
    return (
        owed.order_by()
        .values("assembly__premises")
        .annotate(
            failed=Max(Case(When(failed_on__isnull=False, then=1), default=0)),
            first_due=Min(_DUE),
            not_refused=Max(Case(When(Exists(refused), then=0), default=1)),
        )
        .order_by("-failed", "first_due", "assembly__premises")
    )


def _rows(
    program: Program, owed: QuerySet[Obligation], pks: Sequence[int], *, today: date
) -> dict[int, ToCall]:
    premises = list(Premises.objects.filter(pk__in=pks))
    due = by_premises(owed.filter(assembly__premises__in=pks))
    last = _last_calls(program, pks)
    ring = whom_to_ring(premises)
    return {
        one.pk: ToCall(
            premises=one,
            owed=tuple(due[one.pk]),
            standing=_standing(due[one.pk], today=today),
            who=ring[one.pk].who,
            phone=ring[one.pk].phone,
            last=last.get(one.pk),
        )
        for one in premises
    }


def _last_calls(program: Program, pks: Sequence[int]) -> dict[int, CallMade]:
    """The newest call to each of these premises."""
    calls = CallMade.objects.filter(program=program, premises__in=pks)
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


def jobs_of(jobs: QuerySet[Job]) -> list[Job]:
    """Those of the jobs that stand, newest first."""
    found = jobs.filter(cancelled_at__isnull=True)
    return list(found.select_related("premises", "firm")[:MOST])
