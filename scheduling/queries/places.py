"""Premises and their services as replay takes them, read for many at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from registry.models import Assembly, HazardAssessment, Premises, Program, ServiceConnection
from scheduling.closed_days import closed_days
from scheduling.domain.facts import Fact
from scheduling.domain.place_replay import Rules
from scheduling.domain.places import (
    Finding,
    Guard,
    GuardBefore,
    Place,
    Service,
    ServiceShape,
    UseBefore,
)
from scheduling.models import Fact as FactRow
from scheduling.queries.fact_values import FACT, fact_of
from scheduling.queries.rulebooks import Books


def rules_of(*, program: Program, books: Books) -> Rules:
    """Return the rules of a program as replay of a premises takes them."""
    return Rules(rulebooks=books.dated, holidays=closed_days(program.state))


def places(*, program: Program, premises_ids: Collection[int]) -> list[Place]:
    """Return the premises of a program with their services, in five queries.

    Withdrawn facts are among them, for what was known at an earlier moment.
    """
    zone = ZoneInfo(program.zone)
    sites: Any = (
        Premises.objects.filter(program=program, pk__in=premises_ids)
        .order_by("pk")
        .values_list("pk", "use", "created_at", "account_closed_on", "was")
    )
    told = _told(program, premises_ids)
    services = _services(program, premises_ids, told=told, zone=zone)
    return [
        Place(
            key=pk,
            use=use,
            recorded_on=created_at.astimezone(zone).date(),
            recorded_at=created_at,
            findings=tuple(told.of_premises.get(pk, ())),
            services=tuple(services.get(pk, ())),
            facts=tuple(told.facts_of_premises.get(pk, ())),
            closed_on=closed_on,
            was=tuple(_use_before(entry) for entry in was or ()),
        )
        for pk, use, created_at, closed_on, was in sites
    ]


@dataclass(frozen=True, slots=True)
class _Told:
    """Findings and facts by what they are about."""

    of_premises: Mapping[int, Sequence[Finding]]
    of_assembly: Mapping[int, Sequence[Finding]]
    facts_of_premises: Mapping[int, Sequence[Fact]]
    facts_of_service: Mapping[int, Sequence[Fact]]
    facts_of_assembly: Mapping[int, Sequence[Fact]]


def _told(program: Program, premises_ids: Collection[int]) -> _Told:
    of_premises: dict[int, list[Finding]] = defaultdict(list)
    of_assembly: dict[int, list[Finding]] = defaultdict(list)
    assessments: Any = (
        HazardAssessment.objects.filter(premises__in=premises_ids)
        .order_by("assessed_on", "id")
        .values_list(
            "premises_id", "assembly_id", "assessed_on", "hazard", "recorded_at", "is_stated"
        )
    )
    for premises_id, assembly_id, on, hazard, recorded_at, is_stated in assessments:
        finding = Finding(
            on=on, hazard=Hazard(hazard), recorded_at=recorded_at, is_stated=is_stated
        )
        if assembly_id is None:
            of_premises[premises_id].append(finding)
        else:
            of_assembly[assembly_id].append(finding)
    facts = FactRow.objects.filter(program=program)
    return _Told(
        of_premises=of_premises,
        of_assembly=of_assembly,
        facts_of_premises=_facts(facts.filter(premises__in=premises_ids), by="premises_id"),
        facts_of_service=_facts(
            facts.filter(connection__in=_services_at(premises_ids)), by="connection_id"
        ),
        facts_of_assembly=_facts(
            facts.filter(assembly__premises__in=premises_ids), by="assembly_id"
        ),
    )


def _services_at(premises_ids: Collection[int]) -> Any:
    return ServiceConnection.objects.filter(premises__in=premises_ids).order_by().values("pk")


def _facts(rows: Any, *, by: str) -> dict[int, list[Fact]]:
    found: dict[int, list[Fact]] = defaultdict(list)
    for subject_id, *values in rows.order_by().values_list(by, *FACT):
        found[subject_id].append(fact_of(values))
    return found


def _services(
    program: Program, premises_ids: Collection[int], *, told: _Told, zone: tzinfo
) -> dict[int, list[Service]]:
    guards: dict[int, list[Guard]] = defaultdict(list)
    assemblies: Any = (
        Assembly.objects.filter(program=program, premises__in=premises_ids)
        .order_by("pk")
        .values_list("pk", "connection_id", "type", "protects", "hazard", "created_at", "was")
    )
    for pk, connection_id, type_, protects, hazard, created_at, was in assemblies:
        guards[connection_id].append(
            Guard(
                type=AssemblyType(type_),
                protects=Protects(protects),
                hazard=Hazard(hazard),
                recorded_on=created_at.astimezone(zone).date(),
                recorded_at=created_at,
                findings=tuple(told.of_assembly.get(pk, ())),
                facts=tuple(told.facts_of_assembly.get(pk, ())),
                was=tuple(_before(shape) for shape in was or ()),
            )
        )
    found: dict[int, list[Service]] = defaultdict(list)
    for row in ServiceConnection.objects.filter(premises__in=premises_ids).order_by("pk"):
        found[row.premises_id].append(
            Service(
                key=row.pk,
                recorded_on=row.created_at.astimezone(zone).date(),
                recorded_at=row.created_at,
                shapes=tuple(shapes_of(row, zone=zone)),
                guards=tuple(guards.get(row.pk, ())),
                facts=tuple(told.facts_of_service.get(row.pk, ())),
            )
        )
    return found


def _use_before(entry: Mapping[str, Any]) -> UseBefore:
    return UseBefore(
        until=date.fromisoformat(entry["until"]),
        use=entry["use"],
        recorded_at=datetime.fromisoformat(entry["recorded_at"]),
    )


def _before(shape: Mapping[str, Any]) -> GuardBefore:
    return GuardBefore(
        until=date.fromisoformat(shape["until"]),
        type=AssemblyType(shape["type"]),
        protects=Protects(shape["protects"]),
        recorded_at=datetime.fromisoformat(shape["recorded_at"]),
    )


def shapes_of(row: ServiceConnection, *, zone: tzinfo) -> Iterable[ServiceShape]:
    """Yield what a service was, oldest first, and what it is now; each from when it was changed."""
    since, recorded_at = date.min, None
    now = {
        "kind": row.kind,
        "has_chemicals": row.has_chemicals,
        "runs_part_year": row.runs_part_year,
    }
    for shape in [*row.was, now]:
        yield ServiceShape(
            on=since,
            kind=ServiceKind(shape["kind"]),
            has_chemicals=shape["has_chemicals"],
            runs_part_year=shape["runs_part_year"],
            recorded_at=recorded_at,
        )
        if "until" in shape:
            recorded_at = datetime.fromisoformat(shape["until"])
            since = recorded_at.astimezone(zone).date()
        if "since" in shape:
            since = date.fromisoformat(shape["since"])
