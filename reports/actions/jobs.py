"""Jobs kept and cancelled, and calls about due work noted with what came of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Firm, Premises, Program
from reports.models import CallMade, Job


class JobError(Exception):
    """Nothing was kept; the message is a sentence that says why and what to do."""


@dataclass(frozen=True, kw_only=True)
class JobTold:
    """What a customer asked for. ``repair_up_to`` is in dollars; None: ask before any repair."""

    asked_by: str
    asked_on: date
    covers_until: date | None = None
    bill_to: str = ""
    repair_up_to: Decimal | None = None
    firm: Firm | None = None
    notes: str = ""


@transaction.atomic
def keep_job(*, premises: Premises, told: JobTold, hand: Hand) -> Job:
    """Keep a job. Raises JobError for a last day before the day it was asked for."""
    if told.covers_until is not None and told.covers_until < told.asked_on:
        raise JobError("It ends before it was asked for: mend one of the days.")
    job = Job.objects.create(
        program=premises.program,
        premises=premises,
        firm=told.firm,
        asked_by=told.asked_by,
        asked_on=told.asked_on,
        covers_until=told.covers_until,
        bill_to=told.bill_to,
        repair_up_to=told.repair_up_to,
        notes=told.notes,
        recorded_at=hand.at,
        by=hand.by,
    )
    _record(job, before={}, after=_plain(job), hand=hand)
    return job


@transaction.atomic
def cancel_job(*, job: Job, why: str, hand: Hand) -> None:
    """End a job; what was planned for it stands until the next plan. Raises JobError."""
    if not why.strip():
        raise JobError("Say why it is cancelled.")
    ended = Job.objects.filter(pk=job.pk, cancelled_at__isnull=True).update(
        cancelled_at=hand.at, cancelled_by=hand.by, cancelled_why=why.strip()[:300]
    )
    if not ended:
        raise JobError("It was cancelled already.")
    _record(job, before={"cancelled": ""}, after={"cancelled": why.strip()}, hand=hand)


@dataclass(frozen=True, kw_only=True)
class CallTold:
    """What came of a call: ``again_on`` for one that is to be made again."""

    outcome: str
    words: str = ""
    again_on: date | None = None


@transaction.atomic
def note_call(
    *, premises: Premises, told: CallTold, due_on: date | None, today: date, hand: Hand
) -> CallMade:
    """Note a call about what is due there, ``due_on`` being the latest day of it.

    Raises JobError for an unknown outcome, or a day to call again that is not ahead.
    """
    if told.outcome not in dict(CallMade.OUTCOMES):
        raise JobError("Say what came of the call.")
    if told.outcome == CallMade.AGAIN and (told.again_on is None or told.again_on <= today):
        raise JobError("Say on which day after today to call again.")
    call = CallMade.objects.create(
        program=premises.program,
        premises=premises,
        outcome=told.outcome,
        again_on=told.again_on if told.outcome == CallMade.AGAIN else None,
        for_due_on=due_on,
        words=told.words[:300],
        at=hand.at,
        by=hand.by,
    )
    record_change(
        hand=hand,
        what="call",
        subject_id=call.pk,
        label=str(premises),
        before={},
        after={"outcome": call.outcome, "words": call.words},
        program=premises.program,
    )
    return call


def _plain(job: Job) -> Mapping[str, Any]:
    names = ("asked_by", "asked_on", "covers_until", "bill_to", "repair_up_to", "firm", "notes")
    return {name: str(getattr(job, name) or "") for name in names}


def _record(job: Job, *, before: Mapping[str, Any], after: Mapping[str, Any], hand: Hand) -> None:
    program: Program = job.program
    record_change(
        hand=hand,
        what="job",
        subject_id=job.pk,
        label=str(job.premises),
        before=before,
        after=after,
        program=program,
    )
