"""What rules ask about a subject, and which subjects a rule catches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import product

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind

DETECTORS = frozenset(
    {AssemblyType.RPDA, AssemblyType.RPDA_II, AssemblyType.DCDA, AssemblyType.DCDA_II}
)
"""Types with a metered bypass (ASSE 1047, 1048)."""


class SubjectKind(StrEnum):
    """What an obligation is about."""

    ASSEMBLY = "assembly"
    CONNECTION = "service connection"
    PREMISES = "premises"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attributes:
    """What rules ask about a subject, as it is on one day.

    What nobody recorded is None, and is treated as the stricter of the two: not
    residential, with chemicals, in use all year; a hazard not assessed as high. `type` is
    None for a premises or a service connection. `use` is the use of the premises.
    """

    type: AssemblyType | None = None
    hazard: Hazard = Hazard.NOT_ASSESSED
    service: ServiceKind = ServiceKind.UNKNOWN
    protects: Protects = Protects.CONTAINMENT
    use: str = ""
    is_residential: bool | None = None
    has_chemicals: bool | None = None
    runs_part_year: bool | None = None
    subject: SubjectKind = SubjectKind.ASSEMBLY

    @property
    def degree(self) -> Hazard:
        """The hazard rules go by: what is not assessed is treated as high."""
        return Hazard.HIGH if self.hazard is Hazard.NOT_ASSESSED else self.hazard

    @property
    def is_detector(self) -> bool:
        """True for a type with a metered bypass."""
        return self.type in DETECTORS


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """Which subjects a rule catches; an empty set and a None ask nothing.

    `uses` are compared without regard to case. `part_year`: the supply runs less than six
    months of the year.
    """

    types: frozenset[AssemblyType] = frozenset()
    hazards: frozenset[Hazard] = frozenset()
    services: frozenset[ServiceKind] = frozenset()
    protects: frozenset[Protects] = frozenset()
    uses: frozenset[str] = frozenset()
    residential: bool | None = None
    chemicals: bool | None = None
    detector: bool | None = None
    part_year: bool | None = None

    def catches(self, attributes: Attributes) -> bool:
        """Return whether a subject with these attributes falls under the rule."""
        return (
            (not self.types or attributes.type in self.types)
            and (not self.hazards or attributes.degree in self.hazards)
            and (not self.services or attributes.service in self.services)
            and (not self.protects or attributes.protects in self.protects)
            and self._catches_the_rest(attributes)
        )

    def _catches_the_rest(self, attributes: Attributes) -> bool:
        return (
            (not self.uses or attributes.use.strip().casefold() in self.uses)
            and (self.residential is None or self.residential is bool(attributes.is_residential))
            and (
                self.chemicals is None or self.chemicals is (attributes.has_chemicals is not False)
            )
            and (self.detector is None or self.detector is attributes.is_detector)
            and (self.part_year is None or self.part_year is bool(attributes.runs_part_year))
        )


EVERYTHING = Match()
"""Asks nothing, and so catches every subject."""


def every_subject(matches: Iterable[Match] = ()) -> Iterator[Attributes]:
    """Yield every combination of attributes that rules with these matches tell apart."""
    asked = list(matches)
    both: tuple[bool | None, ...] = (False, True)
    dwellings = both if any(m.residential is not None for m in asked) else (None,)
    chemicals = both if any(m.chemicals is not None for m in asked) else (None,)
    part_years = both if any(m.part_year is not None for m in asked) else (None,)
    uses = sorted({"", *(use for m in asked for use in m.uses)})
    for type_, hazard, service, protects, use, residential, chemical, part_year in product(
        AssemblyType,
        (Hazard.HIGH, Hazard.LOW),
        ServiceKind,
        Protects,
        uses,
        dwellings,
        chemicals,
        part_years,
    ):
        yield Attributes(
            type=type_,
            hazard=hazard,
            service=service,
            protects=protects,
            use=use,
            is_residential=residential,
            has_chemicals=chemical,
            runs_part_year=part_year,
        )
