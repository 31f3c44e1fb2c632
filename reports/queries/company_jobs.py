"""What a testing company's dispatcher sees of due work and jobs: that of the own companies."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime

from django.db.models import Q, QuerySet

from registry.access import Person, firms_of, visible_premises
from registry.domain.kinds import Role
from registry.models import Assignment, Firm, Premises, Program
from reports.models import Job, Stop
from scheduling.models import Obligation


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


def due_among(
    premises: QuerySet[Premises], *, last_day: date
) -> Mapping[int, Sequence[Obligation]]:
    """The tests open by a day at these premises, one per assembly, the earliest due first.

    What ``due_by_premises`` says of a whole program; here no other premises' rows are read.
    """
    at_work = Q(assembly__state__isnull=True) | Q(
        assembly__state__removed_on__isnull=True, assembly__state__idle_since__isnull=True
    )
    owed = Obligation.objects.filter(
        at_work,
        assembly__premises__in=premises.values("pk"),
        kind="test",
        closed_on__isnull=True,
        opens_on__lte=last_day,
    )
    found: dict[int, dict[int, Obligation]] = defaultdict(dict)
    for one in owed.select_related("assembly__connection").order_by(
        "due_on", "assembly__serial_key", "pk"
    ):
        assembly = one.its_assembly
        found[assembly.premises_id].setdefault(assembly.pk, one)
    return {pk: tuple(rows.values()) for pk, rows in found.items()}


def _running(program: Program) -> QuerySet[Assignment]:
    return Assignment.objects.filter(program=program, ended_on__isnull=True)
