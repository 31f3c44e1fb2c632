"""Where an obligation is: the premises of its assembly or service, or the premises itself."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from django.db.models import Q
from django.db.models.functions import Coalesce

from registry.domain.kinds import Hazard, ServiceKind
from registry.models import Assembly, ServiceConnection
from scheduling.domain.dwellings import is_residence
from scheduling.domain.matching import Attributes, SubjectKind
from scheduling.models import Obligation

PREMISES_ID: Final = Coalesce("assembly__premises_id", "connection__premises_id", "premises_id")
"""The id of the premises of an obligation, in a query."""

WHERE: Final = (
    "assembly__premises",
    "assembly__connection",
    "connection__premises",
    "premises",
)
"""What to select with obligations whose subject and premises are read."""

OF_NO_ASSEMBLY: Final = Q(assembly__isnull=True)
"""The obligations of services and premises."""


def at_premises(premises_ids: Collection[int]) -> Q:
    """Return the obligations at these premises, whatever they are about; two reads.

    Asked by plain ids, a database finds each subject by its index; asked by joins with OR it
    would read all that was ever owed.
    """
    assemblies = Assembly.objects.filter(premises__in=premises_ids).order_by()
    services = ServiceConnection.objects.filter(premises__in=premises_ids).order_by()
    return (
        Q(assembly__in=list(assemblies.values_list("pk", flat=True)))
        | Q(connection__in=list(services.values_list("pk", flat=True)))
        | Q(premises__in=list(premises_ids))
    )


def attributes_at(row: Obligation) -> Attributes:
    """Return what rules ask about the service or the premises of an obligation, as it is now."""
    where, connection = row.where, row.connection
    found = [str(lack["hazard"]) for lack in row.detail.get("lacks", [])]
    if not found:
        newest = where.assessments.filter(assembly__isnull=True).order_by("-assessed_on", "-pk")
        found = list(newest.values_list("hazard", flat=True)[:1])
    return Attributes(
        subject=SubjectKind.PREMISES if connection is None else SubjectKind.CONNECTION,
        hazard=_highest(found),
        service=ServiceKind(connection.kind) if connection is not None else ServiceKind.UNKNOWN,
        use=where.use,
        is_residential=is_residence(where.use),
        has_chemicals=connection.has_chemicals if connection is not None else None,
        runs_part_year=connection.runs_part_year if connection is not None else None,
    )


def _highest(found: Collection[str]) -> Hazard:
    if Hazard.HIGH in found:
        return Hazard.HIGH
    return Hazard.LOW if set(found) == {Hazard.LOW.value} else Hazard.NOT_ASSESSED
