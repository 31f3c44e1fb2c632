"""Addresses that get nothing by e-mail: they failed, or their owner wants reminders on paper."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db import transaction

from notices.models import MailStop
from registry.changes import Hand, record_change
from registry.models import Program


def stop_address(
    program: Program, *, address: str, words: str, at: datetime, is_courtesy_only: bool = False
) -> None:
    """Write nothing more to an address by e-mail, or no reminders; once is enough."""
    MailStop.objects.get_or_create(
        program=program,
        address=address.lower(),
        is_courtesy_only=is_courtesy_only,
        lifted_at=None,
        defaults={"words": words[:500], "since_at": at},
    )


def stopped(program: Program, *, addresses: Collection[str], is_courtesy: bool) -> dict[str, str]:
    """Return which of these addresses get no such e-mail, each with the reason."""
    if not addresses:
        return {}
    rows = MailStop.objects.filter(
        program=program, lifted_at__isnull=True, address__in={one.lower() for one in addresses}
    )
    if not is_courtesy:
        rows = rows.filter(is_courtesy_only=False)
    return {row.address: _why(row) for row in rows}


@transaction.atomic
def lift(stop: MailStop, *, hand: Hand) -> bool:
    """Write to the address again; False when somebody lifted it before."""
    changed = MailStop.objects.filter(pk=stop.pk, lifted_at__isnull=True).update(
        lifted_at=hand.at, lifted_by=hand.by
    )
    if changed:
        record_change(
            hand=hand,
            what="mail stop",
            subject_id=stop.pk,
            label=stop.address,
            before={"stopped": True},
            after={"stopped": False},
            program=stop.program,
        )
    return changed == 1


def _why(row: MailStop) -> str:
    if row.is_courtesy_only:
        return "Its owner asked for reminders on paper."
    return f"The address failed: {row.words}"[:400]
