"""When an order to shut off water must not be prepared, and what a person must know first.

Stricter than some codes, which is this house's choice.
"""

from __future__ import annotations

from dataclasses import dataclass

from notices.domain.kinds import FireLine

_DETECTORS = frozenset({"RPDA", "DCDA", "RPDA-II", "DCDA-II"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Premise:
    """What the record says about the service and the people behind an assembly."""

    fire: FireLine
    fire_answer: str
    has_medical_supply: bool
    medical_consent: str


def fire_line_of(*, service: str, type_: str, has_combined_fire: bool) -> FireLine:
    """Return whether shutting the service takes the fire protection off.

    A detector assembly on a service nobody recorded is taken for a fire line:
    detectors are made for those.
    """
    if service == "fire" or (not service and type_ in _DETECTORS):
        return FireLine.DEDICATED
    if service == "combined domestic and fire" or (
        has_combined_fire and service in {"", "domestic"}
    ):
        return FireLine.COMBINED
    return FireLine.NONE


def why_held(premise: Premise) -> str:
    """Return why no order may be prepared, or nothing where one may."""
    if premise.fire is FireLine.DEDICATED:
        return "A dedicated fire line is never shut off. Tell the fire department."
    if premise.fire is FireLine.COMBINED and not premise.fire_answer.strip():
        return "The service feeds a fire system too. Record the fire department's answer first."
    if premise.has_medical_supply and not premise.medical_consent.strip():
        return "The premises needs water for medical reasons. Record the consent first."
    return ""
