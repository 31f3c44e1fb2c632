"""Opening what has come due to open: the one change that the passing of a day makes here."""

from __future__ import annotations

from datetime import date

from registry.models import Program
from scheduling.models import Obligation
from scheduling.queries.opening import AT_ONCE, ids_to_open


def open_obligations(*, program: Program, as_of: date) -> int:
    """Record as open every obligation whose opening day has come; return how many.

    By stored dates; those of idle assemblies wait for the return to use. A second time on a day
    opens nothing, nor does a run beside this one open twice.
    """
    ids = ids_to_open(program=program, as_of=as_of)
    opened = 0
    for start in range(0, len(ids), AT_ONCE):
        rows = Obligation.objects.filter(pk__in=ids[start : start + AT_ONCE], opened_on=None)
        opened += rows.update(opened_on=as_of)
    return opened
