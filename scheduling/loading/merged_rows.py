"""Rows that name an assembly by a number it had before a merge: told, and landed under no other."""

from collections.abc import Sequence

from registry.domain.cells import Fault
from registry.domain.fields import RegistryField as F
from registry.domain.headers import ColumnMap
from registry.domain.statements import StatedRow
from registry.models import Alias, Program
from scheduling.loading.matching import known_by
from scheduling.loading.stored import Stored


def apart_from_merged(
    *, rows: Sequence[StatedRow], stored: Stored, program: Program, columns: ColumnMap
) -> tuple[tuple[StatedRow, ...], list[Fault]]:
    """Return the rows that land, and a warning for each that names a merged number.

    Such a row makes no second assembly and takes nothing back; it counts as unchanged.
    """
    old = {
        (alias.maker_key, alias.key): alias.assembly
        for alias in Alias.objects.filter(program=program, assembly__isnull=False)
        .select_related("assembly")
        .order_by("pk")
    }
    if not old:
        return tuple(rows), []
    landing: list[StatedRow] = []
    told: list[Fault] = []
    for row in rows:
        now = old.get(known_by(row)) if row.assembly.serial else None
        if now is None or known_by(row) in stored.assemblies:
            landing.append(row)
            continue
        message = (
            f"This assembly was merged and is known as {now.serial}; the row changes nothing. "
            "Write that serial, or take the row out."
        )
        header = columns.header_of(F.SERIAL)
        told.append(Fault(row=row.row, column=header, value=row.assembly.serial, message=message))
    return tuple(landing), told
