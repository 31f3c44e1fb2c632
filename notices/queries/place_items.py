"""Obligations of services and premises as letters and pages speak of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from notices.domain.addresses import one_line
from notices.domain.briefs import Item
from notices.domain.kinds import Work
from notices.domain.orders import fire_line_of
from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Premises
from scheduling.domain.obligations import Origin
from scheduling.models import Obligation
from scheduling.queries.obligations import as_domain


def work_of(row: Obligation) -> Work:
    """Return what a letter about an obligation asks for."""
    if row.assembly_id is not None:
        return Work.TEST
    return Work.PROTECTION if _origin(row)[0] == Origin.UNPROTECTED else Work.SURVEY


def is_high(row: Obligation) -> bool:
    """Return whether a service that lacks protection stands against a high hazard, or any."""
    return any(lack.get("hazard") != Hazard.LOW for lack in lacks_of(row))


def lacks_of(row: Obligation) -> Sequence[Mapping[str, Any]]:
    """Return what lacks, as the last replay found it."""
    found: Sequence[Mapping[str, Any]] = row.detail.get("lacks", [])
    return found


def place_words(premises: Premises) -> str:
    """Name a premises in a letter: its street, or what it is called."""
    return one_line((premises.address,)) or one_line((premises.name, premises.account))


def item_of_place(row: Obligation) -> Item:
    """Return one obligation of a service or a premises as letters and pages speak of it."""
    premises, work = row.where, work_of(row)
    lacks = lacks_of(row)
    services = sorted({str(lack["service"]) for lack in lacks if lack["service"]})
    name = row.connection.name if row.connection is not None else ""
    return Item(
        premises_key=str(premises.pk),
        premises=place_words(premises),
        due_on=row.due_on,
        location=name,
        service=services[0] if len(services) == 1 else "",
        hazard=_hazard(lacks, premises=premises),
        last_passed_on=_last_surveyed(row) if work is Work.SURVEY else None,
        citation=as_domain(row).citation,
        fire=fire_line_of(
            service=services[0] if len(services) == 1 else "",
            type_="",
            has_combined_fire=premises.has_combined_fire,
        ),
        has_tenants=premises.has_tenants,
        has_medical_supply=premises.has_medical_supply,
        work=work,
        there=_types(kind for lack in lacks for kind in lack["has"]),
        allowed=_types(lacks[0]["allowed"]) if lacks else (),
        asks_source=str(lacks[0]["citation"]) if lacks else "",
    )


def _types(names: Any) -> tuple[str, ...]:
    """Return types once each, in the order offices list them."""
    told = set(names)
    return tuple(kind.value for kind in AssemblyType if kind.value in told)


def _hazard(lacks: Sequence[Mapping[str, Any]], *, premises: Premises) -> str:
    """Return the hazard found: that of what lacks, else the newest finding about the premises."""
    if lacks:
        found = [str(lack["hazard"]) for lack in lacks]
        return Hazard.HIGH.value if Hazard.HIGH in found else found[0]
    newest = premises.assessments.filter(assembly__isnull=True).order_by("-assessed_on", "-pk")
    last = newest.first()
    return last.hazard if last is not None else Hazard.NOT_ASSESSED.value


def _last_surveyed(row: Obligation) -> date | None:
    """Return the survey that the obligation counts from."""
    word, day = _origin(row)
    return date.fromisoformat(day) if word == Origin.CYCLE else None


def _origin(row: Obligation) -> tuple[str, str]:
    word, _, day = row.origin.partition(":")
    return word, day
