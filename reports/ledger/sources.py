"""What the ledger keeps: of each kind the rows, their plain values, the personal ones apart."""

from __future__ import annotations

from django.db.models import Model, QuerySet

from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import LetterState
from notices.models import Delivery, Letter, OrderSignature
from registry.models import Erasure, Program
from reports.ledger.entries import Plain, Source, moment
from reports.ledger.order_sources import AROUND_ORDERS
from reports.ledger.picture_sources import PICTURES
from reports.models import FieldTest
from scheduling.models import Fact


def _fact(row: Fact) -> Plain:
    return {
        "assembly": row.assembly_id,
        "connection": row.connection_id,
        "premises": row.premises_id,
        "kind": row.kind,
        "on": row.on.isoformat(),
        "at": row.at.isoformat() if row.at else None,
        "detail": row.detail,
        "source": row.source,
        "source_ref": row.source_ref,
        "recorded_at": moment(row.recorded_at),
    }


def _test(row: FieldTest) -> Plain:
    return {
        "digest": row.digest,
        "tested_on": row.tested_on.isoformat(),
        "unit": row.unit,
        "initial": row.initial,
        "final": row.final,
        "recorded_at": moment(row.recorded_at),
    }


def _letter(row: Letter) -> Plain:
    return {
        "number": row.number,
        "kind": row.kind,
        "composed_on": row.composed_on.isoformat(),
        "sha256": row.file.sha256,
        "pages": row.file.pages,
    }


def _delivery(row: Delivery) -> Plain:
    return {
        "letter": row.letter.number,
        "channel": row.channel,
        "left_on": row.left_on.isoformat() if row.left_on else None,
        "left_at": moment(row.left_at),
    }


def _withdrawal(row: Fact) -> Plain:
    return {"fact": row.pk, "withdrawn_at": moment(row.withdrawn_at)}


def _signature(row: OrderSignature) -> Plain:
    return {
        "letter": row.letter.number,
        "role": row.role,
        "at": moment(row.at),
        "evidence": row.evidence_sha256,
    }


def _erasure(row: Erasure) -> Plain:
    return {
        "what": row.what,
        "subject": row.subject_id,
        "at": moment(row.at),
        "was_forced": row.was_forced,
        "letters": row.letters,
        "entries": row.entries,
    }


def _signed(program: Program) -> QuerySet[OrderSignature]:
    """Signatures under orders that went: while a second is awaited, the first may sign anew."""
    rows = OrderSignature.objects.filter(letter__program=program).select_related("letter")
    return rows.exclude(letter__state=LetterState.COMPOSED)


def _facts(program: Program) -> QuerySet[Fact]:
    return Fact.objects.filter(program=program)


def _letters(program: Program) -> QuerySet[Letter]:
    rows = Letter.objects.filter(program=program, file__isnull=False)
    # The bytes are read only by the check: here their kept digest is enough.
    return rows.select_related("file").defer("file__pdf", "content")


def _left(program: Program) -> QuerySet[Delivery]:
    """Every delivery that left, whatever came back later."""
    rows = Delivery.objects.filter(letter__program=program, left_on__isnull=False)
    return rows.exclude(state=DeliveryState.WAITING).select_related("letter")


SOURCES: tuple[Source, ...] = (
    Source(
        kind="fact",
        rows=_facts,
        body=_fact,
        personal=lambda row: {"by": row.by, "reason": row.reason},
    ),
    Source(
        kind="fact withdrawn",
        rows=lambda program: _facts(program).filter(withdrawn_at__isnull=False),
        body=_withdrawal,
        personal=lambda row: {"by": row.withdrawn_by, "reason": row.withdrawn_reason},
    ),
    Source(
        kind="field test",
        rows=lambda program: FieldTest.objects.filter(program=program),
        body=_test,
        personal=lambda row: {
            "tester": row.tester_name,
            "certificate": row.tester_certificate,
            "cells": row.cells,
        },
    ),
    Source(
        kind="letter",
        rows=_letters,
        body=_letter,
        personal=lambda row: {"to": row.address_lines},
    ),
    Source(
        kind="letter left",
        rows=_left,
        body=_delivery,
        personal=lambda row: {"address": row.address},
    ),
    Source(
        kind="order signed",
        rows=_signed,
        body=_signature,
        personal=lambda row: {"name": row.name},
    ),
    Source(
        kind="erasure",
        rows=lambda program: Erasure.objects.filter(program=program),
        body=_erasure,
        personal=lambda row: {"by": row.by, "reason": row.reason},
    ),
    *AROUND_ORDERS,
    *PICTURES,
)

BY_KIND = {source.kind: source for source in SOURCES}


def key_of(row: Model) -> int:
    """Return the number of a row, whatever its key is called."""
    return int(row.pk)
