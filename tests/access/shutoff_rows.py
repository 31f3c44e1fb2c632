"""A shutoff with its work order, an answer and a fee, for the fixed cast."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

from notices.models import Fee, Letter, Shutoff, ShutoffAnswer, WorkOrder
from registry.models import ServiceConnection

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)
ON = date(2026, 11, 25)


def rows_of_shutoff(order: Letter, *, connection: ServiceConnection) -> dict[str, int]:
    """Make one of each at the premises of a service; return what was made, by kind."""
    program, premises = order.program, connection.premises
    shutoff = Shutoff.objects.create(
        program=program,
        premises=premises,
        is_emergency=True,
        reason="Invented for this test",
        signed_on=ON,
        signed_at=AT,
        signed_by="an administrator",
        signed_role="administrator",
        evidence={"service_ids": [connection.pk]},
        evidence_sha256="0" * 64,
    )
    work = WorkOrder.objects.create(
        program=program,
        shutoff=shutoff,
        connection=connection,
        number=1,
        kind="water off",
        for_on=ON,
        ordered_at=AT,
        ordered_by="an administrator",
        pdf=b"%PDF-1.7 of a test",
        sha256="0" * 64,
    )
    answer = ShutoffAnswer.objects.create(
        program=program,
        premises=premises,
        kind="fire department",
        says="may go off",
        said_on=ON,
        said_by="Captain Fir",
        words="An engine stands by.",
        recorded_at=AT,
        recorded_by="a clerk",
    )
    fee = Fee.objects.create(
        program=program,
        premises=premises,
        shutoff=shutoff,
        rule="fee",
        citation="Invented for this test",
        amount=Decimal("45.00"),
        why="water back",
        owed_on=ON,
        form_key="0" * 32,
        recorded_at=AT,
        recorded_by="a clerk",
    )
    return {
        "shutoff": shutoff.pk,
        "work order": work.pk,
        "answer": answer.pk,
        "fee": fee.pk,
    }
