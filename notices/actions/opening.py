"""Opens the obligations whose day has come."""

from __future__ import annotations

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from scheduling.models import Obligation


def open_obligations(day: Day) -> int:
    """Mark as open what opens by the day and is not idle; return how many obligations."""
    with transaction.atomic():
        locked_clock(day.program)
        coming = Obligation.objects.filter(
            program=day.program,
            opens_on__lte=day.on,
            opened_on__isnull=True,
            closed_on__isnull=True,
            assembly__state__idle_since__isnull=True,
        )
        return Obligation.objects.filter(pk__in=coming.values("pk")).update(opened_on=day.on)
