"""Why no water may go off at an assembly's service today: fire, medical supply, an objection."""

from __future__ import annotations

from datetime import date

from notices.domain.long_dates import long_date
from notices.domain.orders import Answer, Premise, fire_line_of, why_held
from notices.domain.shutoffs import AnswerKind, AnswerSays
from notices.models import Objection, ShutoffAnswer
from registry.models import Assembly, Premises, ServiceConnection


def hold_on(assembly: Assembly, *, today: date) -> str:
    """Return why no order may take this assembly's service off today, or nothing."""
    return _held(assembly.premises, service=assembly.connection.kind, type_=assembly.type,
                 today=today)  # fmt: skip


def hold_on_service(connection: ServiceConnection, *, today: date) -> str:
    """Return why a service must stay on today, whatever stands on it, or nothing.

    A service nobody recorded with a detector on it counts as a fire line.
    """
    types = [""]
    if not connection.kind:
        types += connection.assemblies.values_list("type", flat=True)
    found = (
        _held(connection.premises, service=connection.kind, type_=type_, today=today)
        for type_ in types
    )
    return next(filter(None, found), "")


def _held(premises: Premises, *, service: str, type_: str, today: date) -> str:
    fire = fire_line_of(service=service, type_=type_, has_combined_fire=premises.has_combined_fire)
    return why_held(
        Premise(
            fire=fire,
            fire_answer=answer_of(premises, kind=AnswerKind.FIRE) if fire else None,
            has_medical_supply=premises.has_medical_supply,
            medical_consent=(
                answer_of(premises, kind=AnswerKind.MEDICAL)
                if premises.has_medical_supply
                else None
            ),
            open_objection=_open_objection(premises),
        ),
        today=today,
    )


def answer_of(premises: Premises, *, kind: AnswerKind) -> Answer | None:
    """Return the newest answer that was not struck; else what a file stated, without an end."""
    row = ShutoffAnswer.objects.filter(
        premises=premises, kind=kind.value, struck_at__isnull=True
    ).first()
    if row is not None:
        return Answer(
            says=AnswerSays(row.says),
            words=row.words,
            said_by=row.said_by,
            said_on=row.said_on,
            until=row.until,
        )
    stated = premises.fire_answer if kind is AnswerKind.FIRE else premises.medical_consent
    return Answer(says=AnswerSays.MAY, words=stated.strip()) if stated.strip() else None


def _open_objection(premises: Premises) -> str:
    row = Objection.objects.filter(premises=premises, decided_at__isnull=True).first()
    if row is None:
        return ""
    return f"The {row.kind} of {long_date(row.raised_on)} is not decided yet. Decide it first."
