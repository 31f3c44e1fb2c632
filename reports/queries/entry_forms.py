"""What a form needs before it is shown: readings in the method's order, and the last ones."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from registry.domain.kinds import AssemblyType
from registry.models import Assembly, Program
from reports.domain.cautions import SiteTraits, cautions_for, speaks_of_vault
from reports.domain.entry_readings import readings_asked
from reports.domain.entry_report import FormAsked
from reports.domain.limits import Limits
from reports.models import FieldTest
from reports.queries.program_rules import ProgramRules

FIRE_TYPES = frozenset(
    {AssemblyType.RPDA, AssemblyType.RPDA_II, AssemblyType.DCDA, AssemblyType.DCDA_II}
)
SHOWN_BEFORE = 3

ATTESTATION = (
    "I tested this assembly myself, by the method named on this form, with the gauge named on it."
    " The readings are those the gauge showed."
)
"""What a tester signs where the program has no words of its own (our own sentence)."""


@dataclass(frozen=True, kw_only=True)
class Before:
    """An earlier reading and the day of its test."""

    on: date
    text: str


def limits_for(*, program: Program, on: date) -> Limits:
    """The limits that judge a test of that day. Raises NoRulebookError, UnknownMethodError."""
    return ProgramRules(program).limits_on(on, method=None)


def asked_of(
    *, program: Program, assembly_type: AssemblyType, is_known: bool, on: date
) -> FormAsked:
    """The form for a type under the program's method of a day. Raises NoRulebookError."""
    limits = limits_for(program=program, on=on)
    return FormAsked(
        assembly_type=assembly_type,
        is_known=is_known,
        readings=readings_asked(limits, assembly_type),
    )


def attestation_of(program: Program) -> str:
    """The words a report is signed under: the program's own, else ours."""
    return str(program.letterhead.get("attestation") or ATTESTATION)


def readings_before(assemblies: Collection[Assembly]) -> dict[int, dict[str, list[Before]]]:
    """The last three readings of each assembly by name, newest first. One query."""
    tests = FieldTest.objects.filter(assembly__in=[one.pk for one in assemblies])
    found: dict[int, dict[str, list[Before]]] = {}
    rows = tests.order_by("assembly", "-tested_on", "-pk")
    for row in rows.values("assembly_id", "tested_on", "initial", "final"):
        mine = found.setdefault(row["assembly_id"], {})
        for name, text in {**row["initial"], **(row["final"] or {})}.items():
            earlier = mine.setdefault(name, [])
            if text and len(earlier) < SHOWN_BEFORE:
                earlier.append(Before(on=row["tested_on"], text=str(text)))
    return found


def cautions_of(assembly: Assembly) -> tuple[str, ...]:
    """What to heed at an assembly's premises before it is touched."""
    site = assembly.premises
    return cautions_for(
        SiteTraits(
            has_fire_line=site.has_combined_fire
            or AssemblyType(assembly.type) in FIRE_TYPES
            or "fire" in assembly.connection.kind,
            has_medical_supply=site.has_medical_supply,
            has_vault=assembly.in_vault or speaks_of_vault(assembly.location),
            has_tenants=site.has_tenants,
        )
    )
