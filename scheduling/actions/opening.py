"""Opening what has come due to open: the one change that the passing of a day makes here."""

from __future__ import annotations

from datetime import date

from django.db.models import Exists, OuterRef

from registry.models import Program
from scheduling.models import AssemblyState, Obligation


def open_obligations(*, program: Program, as_of: date) -> int:
    """Record as open every obligation whose opening day has come; return how many.

    One statement, by stored dates; those of idle assemblies wait for the return to use.
    A second time on a day opens nothing.
    """
    idle = AssemblyState.objects.filter(
        assembly=OuterRef("assembly"), idle_since__isnull=False, idle_since__lte=as_of
    )
    return Obligation.objects.filter(
        ~Exists(idle),
        program=program,
        opened_on__isnull=True,
        closed_on__isnull=True,
        opens_on__lte=as_of,
    ).update(opened_on=as_of)
