"""Stopped clocks of letters that a person lets run again: only what a person stopped."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import QuerySet

from scheduling.actions.facts import FactError
from scheduling.domain.facts import FactKind, stopping
from scheduling.models import Decision, Fact
from scheduling.queries.fact_values import FACT, fact_of


def cause_of(decision: Decision) -> str:
    """Return the cause that a decision's stop and its end name."""
    return f"decision {decision.pk}"


def causes_to_end(rows: QuerySet[Fact], *, on: date) -> list[str]:
    """Return which stops among a subject's facts end when a person restarts its clock on a day.

    A returned letter and an objection end where they are settled; nothing else lets letters go
    while one waits. Raises FactError where only such stop it, or what began on that very day.
    """
    told = rows.filter(
        kind__in=(FactKind.STOPPED, FactKind.RESTARTED), withdrawn_at__isnull=True
    ).values_list(*FACT)
    stopped = stopping([fact_of(values) for values in told.order_by("on", "pk")], on=on)
    mine = [cause for cause in stopped if _is_of_a_person(cause)]
    if not mine and stopped:
        raise FactError(field="kind", message=_settle(stopped))
    if any(stopped[cause] == on for cause in mine):
        message = f"The clock was stopped on {on} itself: withdraw that, or choose a later day."
        raise FactError(field="on", message=message)
    return mine or [""]


def _is_of_a_person(cause: str) -> bool:
    return not cause or cause.startswith("decision ")


def _settle(causes: Iterable[str]) -> str:
    of_whom = " and ".join(sorted({cause.rsplit(" ", 1)[0] for cause in causes}))
    return f"The clock stands for what is not settled ({of_whom}): settle that, on its own page."
