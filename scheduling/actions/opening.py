"""Opening what has come due to open: the one change that the passing of a day makes here."""

from __future__ import annotations

from datetime import date

from registry.models import Program
from scheduling.queries.opening import obligations_to_open


def open_obligations(*, program: Program, as_of: date) -> int:
    """Record as open every obligation whose opening day has come; return how many.

    One statement, by stored dates; those of idle assemblies wait for the return to use.
    A second time on a day opens nothing.
    """
    return obligations_to_open(program=program, as_of=as_of).update(opened_on=as_of)
