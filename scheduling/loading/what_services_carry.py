"""What a file says of a service connection: chemicals fed into it, in use part of the year."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from registry.domain.fields import RegistryField as F
from registry.models import Assembly, ServiceConnection
from scheduling.loading.landing import Landing

_COLUMNS: Final = {"has_chemicals": F.CHEMICALS, "runs_part_year": F.PART_YEAR}


def land_services(*, landing: Landing, connections: Mapping[int, ServiceConnection]) -> None:
    """Write what rows say of their services; blanks leave them, the first row that says it wins.

    Every assembly on a changed service is replayed with the load.
    """
    told: dict[tuple[int, str], bool] = {}
    moved: dict[int, ServiceConnection] = {}
    for row in landing.rows:
        service = connections[row.row]
        for name, column in _COLUMNS.items():
            said = getattr(row.assembly, name)
            if said is None:
                continue
            before = getattr(service, name)
            taken = told.setdefault((service.pk, name), said)
            if taken is not said:
                landing.warn(
                    row=row,
                    name=column,
                    message="Another row of this service connection says otherwise, which is"
                    " taken; make the rows agree.",
                )
            elif before is not said:
                landing.note(row=row.row, name=name, before=before, after=said)
                setattr(service, name, said)
                moved[service.pk] = service
    ServiceConnection.objects.bulk_update(moved.values(), list(_COLUMNS), batch_size=200)
    _touch(landing, moved)


def _touch(landing: Landing, moved: Mapping[int, ServiceConnection]) -> None:
    ids = sorted(moved)
    for start in range(0, len(ids), 500):
        found = Assembly.objects.filter(connection__in=ids[start : start + 500])
        landing.touched.update(found.values_list("pk", flat=True))
