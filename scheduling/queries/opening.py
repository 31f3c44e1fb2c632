"""Which coming obligations a day would open; those of idle assemblies wait."""

from __future__ import annotations

from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from registry.models import Program
from scheduling.models import AssemblyState, Obligation


def obligations_to_open(*, program: Program, as_of: date) -> QuerySet[Obligation]:
    """Return the obligations whose opening day has come and which no run has opened yet."""
    idle = AssemblyState.objects.filter(
        assembly=OuterRef("assembly"), idle_since__isnull=False, idle_since__lte=as_of
    )
    return Obligation.objects.filter(
        ~Exists(idle),
        program=program,
        opened_on__isnull=True,
        closed_on__isnull=True,
        opens_on__lte=as_of,
    )
