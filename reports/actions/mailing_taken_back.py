"""Takes back that a run was mailed, as long as no night has sealed its leaving in the ledger."""

from __future__ import annotations

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.delivery.taking_back import deliveries_mailed, take_back_mailing
from notices.models import PaperRun
from registry.changes import Hand
from registry.console import Refused
from reports.models import LedgerEntry

_SEALED = (
    "The ledger has sealed that run {number} was mailed, so it stands. A letter of it that did not "
    "go: say on its page that it was sent in error, and why."
)


def take_back(run: PaperRun, *, day: Day, hand: Hand) -> int:
    """Put back what saying so had brought; Refused once sealed. Returns how many wait again."""
    with transaction.atomic():
        locked_clock(run.program)
        held = PaperRun.objects.select_related("program").select_for_update(of=("self",))
        run = held.get(pk=run.pk)
        sealed = LedgerEntry.objects.filter(
            program=run.program, kind="letter left", subject__in=deliveries_mailed(run)
        )
        if sealed.exists():
            raise Refused(_SEALED.format(number=run.number))
        return take_back_mailing(run, day=day, hand=hand)
