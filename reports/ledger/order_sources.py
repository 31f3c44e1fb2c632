"""What the ledger keeps around orders: contacts, objections, answers, shutoffs, work, fees.

An entry holds only what does not change after the row was written; what a row comes to later
(an objection decided, a work order carried out, a fee settled) is an entry of its own.
"""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from notices.models import (
    Contact,
    Fee,
    Objection,
    SecondSignature,
    Shutoff,
    ShutoffAnswer,
    WorkOrder,
)
from registry.models import Program
from reports.ledger.entries import Plain, Source, moment


def _contact(row: Contact) -> Plain:
    return {
        "premises": row.premises_id,
        "kind": row.kind,
        "on": row.on.isoformat(),
        "promised_for": row.promised_for.isoformat() if row.promised_for else None,
        "taken_at": moment(row.taken_at),
    }


def _objection(row: Objection) -> Plain:
    return {
        "premises": row.premises_id,
        "kind": row.kind,
        "raised_on": row.raised_on.isoformat(),
        "taken_at": moment(row.taken_at),
    }


def _decided(row: Objection) -> Plain:
    return {
        "objection": row.pk,
        "outcome": row.outcome,
        "decided_on": row.decided_on.isoformat() if row.decided_on else None,
        "decided_at": moment(row.decided_at),
    }


def _second(row: SecondSignature) -> Plain:
    return {
        "letter": row.first.letter.number,
        "role": row.role,
        "at": moment(row.at),
        "evidence": row.evidence_sha256,
    }


def _answer(row: ShutoffAnswer) -> Plain:
    return {
        "premises": row.premises_id,
        "kind": row.kind,
        "says": row.says,
        "said_on": row.said_on.isoformat(),
        "until": row.until.isoformat() if row.until else None,
        "recorded_at": moment(row.recorded_at),
    }


def _struck(row: ShutoffAnswer) -> Plain:
    return {"answer": row.pk, "struck_at": moment(row.struck_at)}


def _shutoff(row: Shutoff) -> Plain:
    return {
        "premises": row.premises_id,
        "letter": row.order.number if row.order else None,
        "is_emergency": row.is_emergency,
        "signed_on": row.signed_on.isoformat(),
        "signed_at": moment(row.signed_at),
        "signed_role": row.signed_role,
        "evidence": row.evidence_sha256,
    }


def _ended(row: Shutoff) -> Plain:
    return {
        "shutoff": row.pk,
        "state": row.state,
        "proof": row.proof,
        "proved_at": moment(row.proved_at),
        "ended_on": row.ended_on.isoformat() if row.ended_on else None,
    }


def _work(row: WorkOrder) -> Plain:
    return {
        "number": row.number,
        "shutoff": row.shutoff_id,
        "connection": row.connection_id,
        "kind": row.kind,
        "for_on": row.for_on.isoformat(),
        "ordered_at": moment(row.ordered_at),
        "sha256": row.sha256,
    }


def _done(row: WorkOrder) -> Plain:
    return {
        "number": row.number,
        "done_on": row.done_on.isoformat() if row.done_on else None,
        "done_time": row.done_time.isoformat() if row.done_time else None,
        "reading": row.reading,
        "recorded_at": moment(row.recorded_at),
    }


def _fee(row: Fee) -> Plain:
    return {
        "premises": row.premises_id,
        "amount": f"{row.amount:.2f}",
        "rule": row.rule,
        "citation": row.citation,
        "owed_on": row.owed_on.isoformat(),
        "recorded_at": moment(row.recorded_at),
    }


def _settled(row: Fee) -> Plain:
    return {
        "fee": row.pk,
        "state": row.state,
        "settled_on": row.settled_on.isoformat() if row.settled_on else None,
        "settled_at": moment(row.settled_at),
    }


def _works(program: Program) -> QuerySet[WorkOrder]:
    return WorkOrder.objects.filter(program=program).defer("pdf", "content")


def _by(*names: str) -> Any:
    """The typed words and names of a row, which stand apart."""
    return lambda row: {name: getattr(row, name) for name in names}


AROUND_ORDERS: tuple[Source, ...] = (
    Source(
        kind="contact",
        rows=lambda program: Contact.objects.filter(program=program),
        body=_contact,
        personal=_by("spoken_with", "words", "taken_by"),
    ),
    Source(
        kind="objection",
        rows=lambda program: Objection.objects.filter(program=program),
        body=_objection,
        personal=_by("raised_by", "words", "taken_by"),
    ),
    Source(
        kind="objection decided",
        rows=lambda program: Objection.objects.filter(program=program, decided_at__isnull=False),
        body=_decided,
        personal=_by("decided_by", "decision"),
    ),
    Source(
        kind="order signed too",
        rows=lambda program: SecondSignature.objects.filter(
            first__letter__program=program
        ).select_related("first__letter"),
        body=_second,
        personal=_by("name"),
    ),
    Source(
        kind="answer",
        rows=lambda program: ShutoffAnswer.objects.filter(program=program),
        body=_answer,
        personal=_by("said_by", "words", "recorded_by"),
    ),
    Source(
        kind="answer struck",
        rows=lambda program: ShutoffAnswer.objects.filter(program=program, struck_at__isnull=False),
        body=_struck,
        personal=_by("struck_by", "struck_why"),
    ),
    Source(
        kind="shutoff",
        rows=lambda program: Shutoff.objects.filter(program=program).select_related("order"),
        body=_shutoff,
        personal=_by("signed_by", "reason"),
    ),
    Source(
        kind="shutoff ended",
        rows=lambda program: Shutoff.objects.filter(program=program, ended_on__isnull=False),
        body=_ended,
        personal=_by("proved_by", "proof_words", "ended_by", "ended_why"),
    ),
    Source(kind="work order", rows=_works, body=_work, personal=_by("ordered_by")),
    Source(
        kind="work order done",
        rows=lambda program: _works(program).filter(done_on__isnull=False),
        body=_done,
        personal=_by("done_by", "words", "recorded_by"),
    ),
    Source(
        kind="fee",
        rows=lambda program: Fee.objects.filter(program=program),
        body=_fee,
        personal=_by("why", "recorded_by"),
    ),
    Source(
        kind="fee settled",
        rows=lambda program: Fee.objects.filter(program=program, settled_at__isnull=False),
        body=_settled,
        personal=_by("settled_by", "settled_words"),
    ),
)
