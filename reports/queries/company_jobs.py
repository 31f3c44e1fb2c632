"""What a testing company's dispatcher sees of due work and jobs: that of the own companies."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q, QuerySet

from registry.access import Person, firms_of, visible_premises
from registry.domain.kinds import Role
from registry.models import Assignment, Firm, Premises, Program
from reports.models import Job, Stop


def own_firms(person: Person) -> QuerySet[Firm]:
    """The testing companies whose dispatcher the person is."""
    return firms_of(person, roles=(Role.DISPATCHER,))


def own_premises(person: Person, *, program: Program) -> QuerySet[Premises]:
    """Premises of a program that are assigned to a company whose dispatcher the person is."""
    given = _running(program).filter(firm__in=own_firms(person).values("pk"))
    return visible_premises(person).filter(program=program, pk__in=given.values("premises"))


def own_firms_at(person: Person, premises: Premises) -> QuerySet[Firm]:
    """Those of the person's companies that a premises is assigned to, by name."""
    given = _running(premises.program).filter(premises=premises)
    return own_firms(person).filter(pk__in=given.values("firm")).order_by("name", "pk")


def own_jobs(person: Person, *, program: Program) -> QuerySet[Job]:
    """Jobs that name a company of the person, or name none and are for its premises."""
    anybodys = Q(firm__isnull=True, premises__in=own_premises(person, program=program).values("pk"))
    return Job.objects.filter(own_jobs_named(person) | anybodys, program=program)


def own_jobs_named(person: Person) -> Q:
    """Jobs that name a company of the person: those it may cancel."""
    return Q(firm__in=own_firms(person).values("pk"))


def without_promise(premises: QuerySet[Premises], *, since: datetime) -> QuerySet[Premises]:
    """Those of the premises to which no visit from a moment on is promised."""
    promised = Stop.objects.filter(
        promised_at__isnull=False, cancelled_at__isnull=True, arrives_at__gte=since
    )
    return premises.exclude(pk__in=promised.values("premises"))


def _running(program: Program) -> QuerySet[Assignment]:
    return Assignment.objects.filter(program=program, ended_on__isnull=True)
