"""The facts and the notices of a premises and its services by a day."""

from __future__ import annotations

from datetime import date, datetime

from django.db.models import Q

from notices.models import Notice
from registry.models import Premises
from scheduling.models import Fact

MOST_LETTERS = 50
MOST_FACTS = 100


def facts_of(premises: Premises, *, as_of: date, known_at: datetime | None) -> list[Fact]:
    """Return the facts of a premises and its services by a day, newest first, withdrawn too."""
    mine = Q(premises=premises) | Q(connection__premises=premises)
    rows = Fact.objects.filter(mine, program=premises.program, on__lte=as_of)
    if known_at is not None:
        rows = rows.filter(recorded_at__lte=known_at)
    return list(rows.select_related("connection").order_by("-on", "-pk")[:MOST_FACTS])


def notices_at(premises: Premises, *, as_of: date) -> list[Notice]:
    """Return the notices about the premises itself and its services, newest first."""
    rows = Notice.objects.filter(
        premises=premises, assembly__isnull=True, obligation__isnull=False, recorded_on__lte=as_of
    )
    newest = rows.select_related("obligation__connection").order_by("-recorded_on", "-pk")
    return list(newest.prefetch_related("carried")[:MOST_LETTERS])
