"""Where a shutoff stands: its services, what of it is still open, and what its papers say."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from notices.domain.kinds import LetterState
from notices.domain.long_dates import long_date
from notices.domain.orders import fire_line_of
from notices.domain.shutoffs import AnswerKind, WorkOrderKind, WorkOrderState
from notices.domain.wording import size_words
from notices.domain.work_orders import WorkBrief
from notices.models import LetterNotice, OrderSignature, Shutoff, WorkOrder
from notices.queries.briefs import sender_of
from notices.queries.evidence import people_behind
from notices.queries.shutoff_holds import answer_of, hold_on_service
from registry.models import Assembly, ServiceConnection
from scheduling.models import Obligation


def obligations_of(shutoff: Shutoff) -> list[Obligation]:
    """Return what the order was about; nothing of an emergency order."""
    if shutoff.order_id is None:
        return []
    carried = LetterNotice.objects.filter(letter=shutoff.order_id)
    rows = Obligation.objects.filter(notices__in=carried.values("notice")).distinct()
    return list(rows.select_related("assembly__connection").order_by("pk"))


def is_met(shutoff: Shutoff) -> bool:
    """Whether nothing of the order is open any more: tests passed, assemblies gone.

    What was closed in favour of a successor counts as open while that is.
    """
    rows = obligations_of(shutoff)
    return bool(rows) and not any(_is_open(row) for row in rows)


def _is_open(row: Obligation) -> bool:
    while row.successor is not None:
        row = row.successor
    return row.closed_on is None


def services_of_shutoff(shutoff: Shutoff) -> list[ServiceConnection]:
    """Return the services to be shut: those of open obligations, or as the emergency named."""
    if shutoff.is_emergency:
        ids = shutoff.evidence.get("service_ids", [])
        return list(ServiceConnection.objects.filter(pk__in=ids).order_by("pk"))
    found = {
        row.assembly.connection_id: row.assembly.connection
        for row in obligations_of(shutoff)
        if row.assembly is not None and _is_open(row)
    }
    return [found[key] for key in sorted(found)]


def work_orders_of(shutoff: Shutoff, *, kind: WorkOrderKind) -> list[WorkOrder]:
    """Return the work orders of a kind that were not called off."""
    rows = shutoff.work_orders.filter(kind=kind.value)
    return list(
        rows.exclude(state=WorkOrderState.CALLED_OFF.value)
        .select_related("connection")
        .defer("pdf")
        .order_by("number")
    )


def why_not_off(shutoff: Shutoff, *, today: date) -> Iterator[str]:
    """Yield why the crew is not sent today, reason by reason."""
    order = shutoff.order
    if order is not None and order.state != LetterState.LEFT:
        yield (
            "The order letter has not left yet. The customer is told before water goes off: mail "
            "it, or hand it over, and say so on its page."
        )
    if not shutoff.is_emergency and is_met(shutoff):
        yield "Nothing of the order is open any more. Call it off."
    for service in services_of_shutoff(shutoff):
        if why := hold_on_service(service, today=today):
            yield why


def work_brief(
    shutoff: Shutoff, *, service: ServiceConnection, kind: WorkOrderKind, number: int, for_on: date
) -> WorkBrief:
    """Return what a work order's paper is made from."""
    premises, sender = shutoff.premises, sender_of(shutoff.program)
    assemblies = list(
        Assembly.objects.filter(connection=service, state__removed_on__isnull=True).order_by(
            "serial", "pk"
        )
    )
    fire = fire_line_of(
        service=service.kind, type_="", has_combined_fire=premises.has_combined_fire
    )
    fire_answer = answer_of(premises, kind=AnswerKind.FIRE) if fire else None
    medical = answer_of(premises, kind=AnswerKind.MEDICAL) if premises.has_medical_supply else None
    place = " ".join(filter(None, (premises.city, premises.state, premises.zip)))
    return WorkBrief(
        kind=kind,
        number=number,
        office=sender.name,
        reached=", ".join(filter(None, (sender.phone, sender.hours, sender.email))) or sender.name,
        for_on=for_on,
        premises=premises.name,
        address=", ".join(filter(None, (premises.address, place))),
        account=premises.account,
        access=" ".join(premises.access_notes.split()),
        phone=premises.phone,
        service=f"{service.kind or 'kind not recorded'} {service.name}".strip(),
        assemblies=tuple(
            (one.serial, one.type, size_words(one.size_in), one.location) for one in assemblies
        ),
        fire=fire,
        fire_answer=fire_answer.in_words if fire_answer else "",
        medical=(
            (medical.in_words if medical else "none recorded")
            if premises.has_medical_supply
            else ""
        ),
        has_tenants=premises.has_tenants,
        behind=tuple(people_behind(premises, today=for_on)),
        in_vault=any(one.in_vault for one in assemblies),
        order=_order(shutoff),
        ground=shutoff.citation,
        signed=tuple(_signed(shutoff)),
        evidence=shutoff.evidence_sha256,
        is_emergency=shutoff.is_emergency,
        proof=f"{shutoff.proof}. {shutoff.proof_words}".strip(" .") if shutoff.proof else "",
    )


def _order(shutoff: Shutoff) -> str:
    if shutoff.order is None:
        return f"Emergency order of {long_date(shutoff.signed_on)}: {shutoff.reason}".rstrip(".")
    return f"Order {shutoff.order.number} of {long_date(shutoff.signed_on)}"


def _signed(shutoff: Shutoff) -> Iterator[str]:
    yield f"{shutoff.signed_by}, {shutoff.signed_role}, {long_date(shutoff.signed_on)}"
    first = OrderSignature.objects.filter(letter=shutoff.order_id).select_related("second").first()
    second = getattr(first, "second", None)
    if second is not None:
        yield f"{second.name}, {second.role}"
