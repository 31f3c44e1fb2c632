"""The nightly seal: once a day for each program, after the clock's wake-up."""

from __future__ import annotations

import logging

from django.utils import timezone

from registry.models import Program
from registry.moments import today_in
from reports.ledger.sealing import seal
from reports.models import LedgerSeal

logger = logging.getLogger(__name__)


def seal_all() -> str:
    """Seal each program not sealed today; one program's fault is told and stops no other."""
    done: list[str] = []
    now = timezone.now()
    for program in Program.objects.order_by("code"):
        today = today_in(zone=program.zone, now=now)
        last = LedgerSeal.objects.filter(program=program).first()
        if last is not None and last.sealed_on >= today:
            continue
        try:
            sealed = seal(program, on=today, at=now)
        except Exception as error:  # one program's fault must not stop the others
            logger.exception("The ledger of %s was not sealed.", program.code)
            done.append(f"{program.code} not sealed: {type(error).__name__}")
            continue
        if sealed.new:
            done.append(f"sealed {program.code}")
    return ", ".join(done)
