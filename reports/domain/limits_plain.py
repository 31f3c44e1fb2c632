"""Limits as plain data: what a device needs to judge by the very figures the server judges by."""

from __future__ import annotations

from registry.domain.kinds import AssemblyType
from reports.domain.limits import BODIES, DETECTORS, KPA_PER_PSI, Criterion, Limits


def limits_plain(limits: Limits) -> dict[str, object]:
    """The limits as JSON holds them, every figure a decimal string."""
    return {
        "name": limits.name,
        "title": limits.title,
        "unit": limits.unit.value,
        "sha256": limits.sha256,
        "kpa_per_psi": f"{KPA_PER_PSI:f}",
        "criteria": [_criterion(one) for one in limits.criteria],
    }


def bodies_plain(assembly_type: AssemblyType) -> dict[str, object]:
    """The bodies of a type, main first, and whether it is a detector."""
    return {
        "type": assembly_type.value,
        "bodies": [[body.value, family.value] for body, family in BODIES.get(assembly_type, ())],
        "detector": assembly_type in DETECTORS,
    }


def _criterion(one: Criterion) -> dict[str, object]:
    return {
        "family": one.family.value,
        "name": one.name,
        "rule": one.rule.value,
        "reading": one.reading.value,
        "other": one.other.value if one.other else None,
        "limit": f"{one.limit:f}" if one.limit is not None else None,
        "required": one.required,
        "citation": one.source,
    }
