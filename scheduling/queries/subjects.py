"""Assemblies as replay takes them: their timeline and facts, read for many at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.db.models import Q

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from registry.models import Assembly, HazardAssessment, Program
from scheduling.closed_days import closed_days
from scheduling.domain.dwellings import is_residence
from scheduling.domain.facts import Fact
from scheduling.domain.rulebook import Attributes
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from scheduling.models import Fact as FactRow
from scheduling.queries.dated_shapes import Finding, dated_attributes
from scheduling.queries.fact_values import FACT, fact_of

ROW: Final = (
    "type",
    "hazard",
    "protects",
    "premises__use",
    "connection__kind",
    "connection__has_chemicals",
    "connection__runs_part_year",
)
"""The columns of an assembly that make its attributes."""


@dataclass(frozen=True, slots=True)
class Subject:
    """One assembly with everything replay asks of it."""

    assembly_id: int
    premises_id: int
    timeline: Timeline
    facts: tuple[Fact, ...]


def subjects(
    *, program: Program, assembly_ids: Collection[int], rulebooks: tuple[RulebookFrom, ...]
) -> list[Subject]:
    """Return the assemblies of a program with timeline and facts, in three queries.

    Withdrawn facts are among them, for what was known at an earlier moment.
    """
    rows = list(_assembly_rows(program, assembly_ids))
    facts = _facts_by_assembly(program, assembly_ids)
    hazards = _hazards(program, rows)
    zone, closed = ZoneInfo(program.zone), closed_days(program.state)
    return [
        Subject(
            assembly_id=row["id"],
            premises_id=row["premises_id"],
            timeline=Timeline(
                attributes=_attributes(row, hazards),
                rulebooks=rulebooks,
                recorded_on=row["created_at"].astimezone(zone).date(),
                holidays=closed,
            ),
            facts=tuple(facts.get(row["id"], ())),
        )
        for row in rows
    ]


def _assembly_rows(program: Program, assembly_ids: Collection[int]) -> Any:
    return (
        Assembly.objects.filter(program=program, pk__in=assembly_ids)
        .order_by("pk")
        .values("id", "premises_id", "created_at", "was", *ROW)
    )


def _facts_by_assembly(program: Program, assembly_ids: Collection[int]) -> dict[int, list[Fact]]:
    found: dict[int, list[Fact]] = defaultdict(list)
    rows = FactRow.objects.filter(program=program, assembly__in=assembly_ids)
    for assembly_id, *values in rows.values_list("assembly_id", *FACT):
        found[assembly_id].append(fact_of(values))
    return found


@dataclass(frozen=True, slots=True)
class _Hazards:
    of_assembly: dict[int, list[Finding]]
    of_premises: dict[int, list[Finding]]


def _hazards(program: Program, rows: list[dict[str, Any]]) -> _Hazards:
    """Return the dated findings for these assemblies and their premises, oldest first."""
    found = _Hazards(defaultdict(list), defaultdict(list))
    wanted = Q(assembly__in=[row["id"] for row in rows]) | Q(
        assembly__isnull=True, premises__in={row["premises_id"] for row in rows}
    )
    assessments: Any = (
        HazardAssessment.objects.filter(wanted, premises__program=program)
        .order_by("assessed_on", "id")
        .values_list("assembly_id", "premises_id", "assessed_on", "hazard", "recorded_at")
    )
    for assembly_id, premises_id, on, hazard, recorded_at in assessments:
        finding = Finding(on, Hazard(hazard), recorded_at)
        if assembly_id is not None:
            found.of_assembly[assembly_id].append(finding)
        else:
            found.of_premises[premises_id].append(finding)
    return found


def _attributes(row: Mapping[str, Any], hazards: _Hazards) -> tuple[AttributesFrom, ...]:
    """Return what the assembly is from each day on; findings of its own, else the premises'."""
    own = hazards.of_assembly.get(row["id"]) or hazards.of_premises.get(row["premises_id"])
    return dated_attributes(row=row, findings=own or (), shape_of=shape_of_row)


def shape_of_row(row: Mapping[str, Any], hazard: Hazard) -> Attributes:
    """Return the attributes of a row of the columns of ROW, under a hazard found."""
    return Attributes(
        type=AssemblyType(row["type"]),
        hazard=hazard,
        service=ServiceKind(row["connection__kind"]),
        protects=Protects(row["protects"]),
        use=row["premises__use"],
        is_residential=is_residence(row["premises__use"]),
        has_chemicals=row["connection__has_chemicals"],
        runs_part_year=row["connection__runs_part_year"],
    )
