"""How many open obligations stand on each rung, and how many of them wait for their letter."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count, OuterRef, Q, Subquery

from notices.models import Notice
from registry.models import Program
from scheduling.models import Obligation


@dataclass(frozen=True, kw_only=True)
class OnRung:
    """A rung's key, how many open obligations have it as their last, and how many wait on it."""

    rung: str
    there: int
    waiting: int


def ladder_counts(program: Program) -> dict[str, OnRung]:
    """Open obligations by their last recorded rung; "" for those without any. One query."""
    last = Notice.objects.filter(
        obligation=OuterRef("pk"), withdrawn_on__isnull=True, sent_in_error_on__isnull=True
    ).order_by("-recorded_on", "-pk")
    rows = (
        Obligation.objects.filter(program=program, opened_on__isnull=False, closed_on__isnull=True)
        .annotate(
            rung=Subquery(last.values("rung")[:1]), rung_left=Subquery(last.values("left_on")[:1])
        )
        .values("rung")
        .order_by("rung")
        .annotate(n=Count("pk"), waiting=Count("pk", filter=Q(rung_left__isnull=True)))
    )
    counts: dict[str, OnRung] = defaultdict(lambda: OnRung(rung="", there=0, waiting=0))
    for row in rows:
        key = row["rung"] or ""
        waiting = row["waiting"] if key else 0
        counts[key] = OnRung(rung=key, there=row["n"], waiting=waiting)
    return dict(counts)
