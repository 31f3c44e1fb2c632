"""Which assembly of a program a report means: by maker and serial, else what comes close."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from registry.batches import in_batches
from registry.domain.kinds import AssemblyType
from registry.models import Alias, Assembly, Program
from reports.domain.assessing import AssemblyOnRecord
from reports.domain.near_serials import KnownSerial, SerialIndex
from reports.domain.report_rows import FieldReport
from scheduling.queries.shapes import SHAPE, shape_of

CHUNK = 500
"""Keys in one question: every database takes that many parameters."""

_FIELDS = (
    "id",
    "serial",
    "serial_key",
    "maker",
    "maker_key",
    "type",
    "state__installed_on",
    "state__removed_on",
    *(name for name in SHAPE if name != "type"),
)


class AssembliesBySerial:
    """The assemblies that bear the serials of a batch, asked for once."""

    def __init__(self, *, program: Program, keys: Collection[str]) -> None:
        self._found: dict[str, list[tuple[str, AssemblyOnRecord]]] = {}
        for some in in_batches(sorted(keys), size=CHUNK):
            rows = Assembly.objects.filter(program=program, serial_key__in=some)
            for row in rows.order_by("id").values(*_FIELDS):
                one = (str(row["maker_key"]), _on_record(row))
                self._found.setdefault(str(row["serial_key"]), []).append(one)
            self._add_merged(program=program, keys=some)

    def _add_merged(self, *, program: Program, keys: Collection[str]) -> None:
        """Old numbers of merged assemblies, where no assembly bears that number now."""
        old = Alias.objects.filter(program=program, assembly__isnull=False, key__in=keys)
        present = set(self._found)
        columns = {name: f"assembly__{name}" for name in _FIELDS}
        for row in old.order_by("pk").values("key", "maker_key", *columns.values()):
            if row["key"] in present:
                continue
            record = _on_record({name: row[column] for name, column in columns.items()})
            self._found.setdefault(row["key"], []).append((row["maker_key"], record))

    def meant_by(self, report: FieldReport) -> AssemblyOnRecord | None:
        """The assembly of the report's maker and serial.

        A report that names no maker means the only assembly with its serial; an assembly whose
        maker nobody recorded is meant by any maker, where no other has its serial.
        """
        same = self._found.get(report.serial_key, [])
        exact = [one for maker, one in same if maker == report.maker_key]
        if exact:
            return exact[0]
        if len(same) == 1 and (not report.maker_key or not same[0][0]):
            return same[0][1]
        return None


def assembly_on_record(*, program: Program, assembly_id: int) -> AssemblyOnRecord | None:
    """One assembly of a program, or None where it has none of this number."""
    row = Assembly.objects.filter(program=program, pk=assembly_id).values(*_FIELDS).first()
    return _on_record(row) if row else None


def serial_index(program: Program) -> SerialIndex:
    """Every serial of a program, for finding what comes close."""
    rows = Assembly.objects.filter(program=program).order_by("id")
    return SerialIndex.of(
        KnownSerial(serial=serial, maker=maker, serial_key=key, maker_key=maker_key)
        for serial, maker, key, maker_key in rows.values_list(
            "serial", "maker", "serial_key", "maker_key"
        ).iterator()
    )


def _on_record(row: Mapping[str, Any]) -> AssemblyOnRecord:
    return AssemblyOnRecord(
        assembly_id=row["id"],
        serial=row["serial"],
        maker=row["maker"],
        type=AssemblyType(row["type"]),
        installed_on=row["state__installed_on"],
        removed_on=row["state__removed_on"],
        attributes=shape_of(row),
    )
