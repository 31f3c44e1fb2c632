"""What a person must have before their eyes when signing an order: the steps, and what goes off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from notices.domain.orders import Premise, fire_line_of, why_held
from notices.models import Letter, LetterNotice, Notice
from registry.domain.kinds import ServiceKind
from registry.models import Assembly, Premises, ServiceConnection
from scheduling.models import Obligation


@dataclass(frozen=True, slots=True, kw_only=True)
class SentNotice:
    """A rung that left: when, in which letter, by what way, and on what ground."""

    rung: str
    left_on: str
    letter: str
    channel: str
    citation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One assembly of the order: its dates and the notices that left."""

    assembly_id: int
    serial: str
    type: str
    service: str
    location: str
    hazard: str
    due_on: str
    failed_on: str
    cure_by: str
    last_passed_on: str
    sent: tuple[SentNotice, ...]
    held: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Everything shown before a signature. `also_off` lists what else the shutoff would take."""

    letter: str
    citation: str
    premises: str
    cases: tuple[Case, ...]
    also_off: tuple[str, ...]
    has_tenants: bool
    medical: str
    fire: str

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values; its digest is kept with the signature."""
        return asdict(self)

    @property
    def holds(self) -> tuple[str, ...]:
        """Why it must not be signed, each reason once."""
        return tuple(dict.fromkeys(case.held for case in self.cases if case.held))


def evidence_of(letter: Letter) -> Evidence:
    """Return the evidence as the record stands now."""
    notices = list(
        Notice.objects.filter(carried__letter=letter)
        .select_related(
            "obligation__assembly__premises",
            "obligation__assembly__connection",
            "obligation__assembly__state",
        )
        .order_by("obligation__assembly__serial")
    )
    rows = [notice.obligation for notice in notices if notice.obligation is not None]
    premises = notices[0].premises
    return Evidence(
        letter=letter.number,
        citation=notices[0].citation,
        premises=f"{premises.account} {premises.address}".strip(),
        cases=tuple(_case(row) for row in rows),
        also_off=tuple(_also_off(premises, rows=rows)),
        has_tenants=premises.has_tenants,
        medical=_medical(premises),
        fire=_fire(premises),
    )


def hold_on(assembly: Assembly) -> str:
    """Return why no order may take this assembly's service off, or nothing."""
    premises = assembly.premises
    return why_held(
        Premise(
            fire=fire_line_of(
                service=assembly.connection.kind,
                type_=assembly.type,
                has_combined_fire=premises.has_combined_fire,
            ),
            fire_answer=premises.fire_answer,
            has_medical_supply=premises.has_medical_supply,
            medical_consent=premises.medical_consent,
        )
    )


def _case(row: Obligation) -> Case:
    assembly = row.its_assembly
    state = getattr(assembly, "state", None)
    passed = state.last_passed_on if state else None
    return Case(
        assembly_id=assembly.pk,
        serial=assembly.serial,
        type=assembly.type,
        service=assembly.connection.kind,
        location=assembly.location,
        hazard=assembly.hazard,
        due_on=row.due_on.isoformat(),
        failed_on=row.failed_on.isoformat() if row.failed_on else "",
        cure_by=row.cure_by.isoformat() if row.cure_by else "",
        last_passed_on=passed.isoformat() if passed else "",
        sent=tuple(_sent(row)),
        held=hold_on(assembly),
    )


def _sent(row: Obligation) -> list[SentNotice]:
    carried = (
        LetterNotice.objects.filter(notice__obligation=row, notice__left_on__isnull=False)
        .filter(is_live=True, notice__sent_in_error_on__isnull=True)
        .select_related("notice", "letter")
        .order_by("notice__left_on", "pk")
    )
    brought = Notice.objects.filter(
        obligation=row, is_brought_along=True, sent_in_error_on__isnull=True
    )
    stated = [
        SentNotice(
            rung=notice.rung,
            left_on=notice.left_on.isoformat() if notice.left_on else "",
            letter="as stated; no copy is kept here",
            channel="",
            citation=notice.citation,
        )
        for notice in brought.order_by("left_on", "pk")
    ]
    return stated + [
        SentNotice(
            rung=link.notice.rung,
            left_on=link.notice.left_on.isoformat() if link.notice.left_on else "",
            letter=link.letter.number,
            channel=link.letter.channel,
            citation=link.notice.citation,
        )
        for link in carried
    ]


def _also_off(premises: Premises, *, rows: Sequence[Obligation]) -> list[str]:
    """Name the other services and assemblies of the premises."""
    mine = {row.its_assembly.pk for row in rows}
    others = Assembly.objects.filter(premises=premises).exclude(pk__in=mine).order_by("serial")
    told = [f"{other.type} {other.serial}, {other.location}".rstrip(", ") for other in others]
    kinds = ServiceConnection.objects.filter(premises=premises, kind=ServiceKind.COMBINED)
    return [*told, *(f"Combined service {connection.name}".strip() for connection in kinds)]


def _medical(premises: Premises) -> str:
    if not premises.has_medical_supply:
        return ""
    return premises.medical_consent or "Needed without a break; no consent recorded."


def _fire(premises: Premises) -> str:
    if not premises.has_combined_fire:
        return ""
    return premises.fire_answer or "Feeds a fire system; no answer of the fire department recorded."
