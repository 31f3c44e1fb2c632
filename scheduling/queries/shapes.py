"""What assemblies are to the rules, read from rows: a few shapes stand for a whole registry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any, Final

from django.db.models import Count

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from registry.models import Assembly, Program
from scheduling.domain.catching import Caught, rules_for
from scheduling.domain.dwellings import is_residence
from scheduling.domain.rulebook import Attributes, Rulebook

SHAPE: Final = (
    "type",
    "hazard",
    "protects",
    "connection__kind",
    "connection__has_chemicals",
    "connection__runs_part_year",
    "premises__use",
)
"""The columns of an assembly that rules ask about."""


def shape_of(row: Mapping[str, Any], *, prefix: str = "") -> Attributes:
    """Return the attributes of a row that holds the columns of SHAPE, under a prefix."""
    return Attributes(
        type=AssemblyType(row[f"{prefix}type"]),
        hazard=Hazard(row[f"{prefix}hazard"]),
        service=ServiceKind(row[f"{prefix}connection__kind"]),
        protects=Protects(row[f"{prefix}protects"]),
        use=row[f"{prefix}premises__use"],
        is_residential=is_residence(row[f"{prefix}premises__use"]),
        has_chemicals=row[f"{prefix}connection__has_chemicals"],
        runs_part_year=row[f"{prefix}connection__runs_part_year"],
    )


def attributes_of(assembly: Assembly) -> Attributes:
    """Return what an assembly, read with its premises and connection, is to the rules now."""
    values = {
        "type": assembly.type,
        "hazard": assembly.hazard,
        "protects": assembly.protects,
        "connection__kind": assembly.connection.kind,
        "connection__has_chemicals": assembly.connection.has_chemicals,
        "connection__runs_part_year": assembly.connection.runs_part_year,
        "premises__use": assembly.premises.use,
    }
    return shape_of(values)


def shapes_in(program: Program) -> Counter[Attributes]:
    """Return how many assemblies in place there are of each shape: one grouped query."""
    rows: Any = (
        Assembly.objects.filter(program=program, state__removed_on__isnull=True)
        .order_by()
        .values(*SHAPE)
        .annotate(number=Count("pk"))
    )
    found: Counter[Attributes] = Counter()
    for row in rows:
        found[shape_of(row)] += row["number"]
    return found


def caught_by_rules(*, rulebook: Rulebook, shapes: Counter[Attributes]) -> Counter[Caught]:
    """Return how many assemblies each rule decides about: the first of its list that fits."""
    found: Counter[Caught] = Counter()
    for attributes, number in shapes.items():
        for caught in rules_for(rulebook=rulebook, attributes=attributes):
            found[caught] += number
    return found


def caught_by_gaps(*, rulebook: Rulebook, shapes: Counter[Attributes]) -> dict[str, int]:
    """Return how many assemblies fall in each open gap."""
    return {
        gap.name: sum(n for attributes, n in shapes.items() if gap.match.catches(attributes))
        for gap in rulebook.open_gaps
    }
