"""Assemblies of a file, new and changed, each on a service connection of its premises."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from registry.domain.cells import clean_lines
from registry.domain.fields import RegistryField as F
from registry.domain.identity import maker_key, serial_key
from registry.domain.kinds import Protects, ServiceKind
from registry.domain.sizes import size_text
from registry.domain.statements import StatedRow
from registry.models import Assembly, HazardAssessment, Premises, Program, ServiceConnection
from scheduling.loading.landing import Landing
from scheduling.loading.what_services_carry import land_services

OURS = "NO-SERIAL-"
"""How a number of ours begins: it stands in for a serial that nobody could read."""
_VAULT = re.compile(r"\b(vault|pit)\b", re.IGNORECASE)
_SPELLED = ("type", "maker", "model", "serial", "location", "notes", "hazard", "protects")
_COLUMN_OF = {
    "model": F.MODEL,
    "location": F.LOCATION,
    "notes": F.NOTES,
    "hazard": F.HAZARD,
    "service": F.SERVICE,
}


def land_assemblies(*, landing: Landing, site_of: Mapping[int, Premises]) -> dict[int, Assembly]:
    """Write the assemblies of all rows; return them by row number."""
    connections = _connections(landing=landing, site_of=site_of)
    land_services(landing=landing, connections=connections)
    numbers = our_numbers(landing.program)
    fresh: dict[int, Assembly] = {}
    moved: dict[int, Assembly] = {}
    landed: dict[int, Assembly] = {}
    for row in landing.rows:
        site, connection = site_of[row.row], connections[row.row]
        assembly = landing.matching.found.get(row.row)
        if assembly is None:
            assembly = _new(row=row, landing=landing, numbers=numbers)
            fresh[row.row] = assembly
        elif _update(assembly=assembly, row=row, landing=landing, connection=connection):
            moved[row.row] = assembly
        assembly.premises, assembly.connection = site, connection
        landed[row.row] = assembly
        if assembly.serial_is_ours and not row.assembly.serial:
            _tell_number(assembly=assembly, row=row, landing=landing)
        _tell_shared_serial(assembly=assembly, row=row, landing=landing)
    Assembly.objects.bulk_create(fresh.values(), batch_size=300)
    _save(moved.values())
    landing.created.update(fresh)
    landing.touched.update(assembly.pk for assembly in (*fresh.values(), *moved.values()))
    _assess(landing=landing, fresh=fresh, landed=landed)
    return landed


def our_numbers(program: Program) -> Iterator[str]:
    """Numbers of ours for assemblies without a serial, after the last one given out."""
    given = Assembly.objects.filter(program=program, serial_key__startswith=OURS)
    tails = [key.removeprefix(OURS) for key in given.values_list("serial_key", flat=True)]
    last = max((int(tail) for tail in tails if tail.isdecimal()), default=0)
    while True:
        last += 1
        yield f"{OURS}{last:04d}"


def lies_in_vault(location: str) -> bool:
    """Whether the words of a location say vault or pit, which asks for two people."""
    return _VAULT.search(location) is not None


def _new(*, row: StatedRow, landing: Landing, numbers: Iterator[str]) -> Assembly:
    said = row.assembly
    assert said.type is not None  # without type or size a row is set aside
    assert said.size_in is not None
    serial = said.serial or next(numbers)
    return Assembly(
        program=landing.program,
        type=said.type,
        maker=said.maker,
        model=said.model,
        serial=serial,
        serial_is_ours=not said.serial or serial.startswith(OURS),
        maker_key=maker_key(said.maker),
        serial_key=serial_key(serial),
        size_in=said.size_in,
        location=said.location,
        protects=said.protects or Protects.CONTAINMENT,
        hazard=said.hazard,
        notes=said.notes,
        in_vault=lies_in_vault(said.location),
        created_at=landing.hand.at,
    )


def _connections(
    *, landing: Landing, site_of: Mapping[int, Premises]
) -> dict[int, ServiceConnection]:
    """The service connection of each row: the one it states, or the one its assembly is on."""
    fresh: list[ServiceConnection] = []
    known = landing.stored.connections
    chosen: dict[int, ServiceConnection] = {}
    for row in landing.rows:
        site = site_of[row.row]
        kind, name = _stated_connection(row=row, landing=landing)
        key = (site.pk, str(kind), name)
        if key not in known:
            known[key] = ServiceConnection(
                premises=site, kind=kind, name=name, created_at=landing.hand.at
            )
            fresh.append(known[key])
        chosen[row.row] = known[key]
    ServiceConnection.objects.bulk_create(fresh, batch_size=500)
    return chosen


def _stated_connection(*, row: StatedRow, landing: Landing) -> tuple[ServiceKind, str]:
    assembly = landing.matching.found.get(row.row)
    said = row.assembly.service
    if assembly is None:
        return said, ""
    present = assembly.connection
    if not landing.columns.brings(F.SERVICE) or said == present.kind:
        return ServiceKind(present.kind), present.name
    return said, ""


def _update(
    *, assembly: Assembly, row: StatedRow, landing: Landing, connection: ServiceConnection
) -> bool:
    before = _present(assembly)
    after = _stated(assembly=assembly, row=row, landing=landing)
    changed = {name for name, value in after.items() if before[name] != value}
    for name in sorted(changed):
        landing.note(row=row.row, name=name, before=before[name], after=after[name])
        setattr(assembly, name, after[name])
    if "location" in changed:
        assembly.in_vault = lies_in_vault(assembly.location)
    if changed & {"maker", "serial"}:
        assembly.maker_key, assembly.serial_key = (
            maker_key(assembly.maker),
            serial_key(assembly.serial),
        )
        assembly.serial_is_ours = assembly.serial.startswith(OURS)
    if connection.pk != assembly.connection_id:
        if connection.kind != assembly.connection.kind:
            landing.note(
                row=row.row,
                name="service",
                before=assembly.connection.kind,
                after=connection.kind,
            )
        return True
    return bool(changed)


def _present(assembly: Assembly) -> dict[str, Any]:
    texts = {name: clean_lines(getattr(assembly, name)) for name in _SPELLED}
    return {**texts, "size_in": assembly.size_in.normalize()}


def _stated(*, assembly: Assembly, row: StatedRow, landing: Landing) -> dict[str, Any]:
    """What the row says of a stored assembly, of those columns that the file has."""
    said = row.assembly
    assert said.type is not None  # without type or size a row is set aside
    assert said.size_in is not None
    stated: dict[str, Any] = {"type": said.type.value, "size_in": said.size_in.normalize()}
    if said.serial:
        stated |= {"serial": said.serial, "maker": said.maker}
    for name, column in _COLUMN_OF.items():
        if name != "service" and landing.columns.brings(column):
            stated[name] = str(getattr(said, name))
    if said.protects:
        stated["protects"] = said.protects.value
    return stated


def _save(assemblies: Any) -> None:
    fields = [
        *_SPELLED, "size_in", "in_vault", "maker_key", "serial_key", "serial_is_ours",
        "premises", "connection",
    ]  # fmt: skip
    Assembly.objects.bulk_update(list(assemblies), fields, batch_size=100)


def _tell_number(*, assembly: Assembly, row: StatedRow, landing: Landing) -> None:
    landing.warn(
        row=row,
        name=F.SERIAL,
        message=f"No serial; the assembly is kept under our number {assembly.serial}. "
        "Read the serial off its plate and write it here.",
    )


def _tell_shared_serial(*, assembly: Assembly, row: StatedRow, landing: Landing) -> None:
    """Tell of one serial under another maker on record; within the file that is told already."""
    for other in landing.stored.serials.get(assembly.serial_key, []):
        in_file = other.pk in landing.matching.matched
        if not in_file and other.maker_key != assembly.maker_key:
            landing.warn(
                row=row,
                name=F.SERIAL,
                message=f"On record there is the same serial under another maker "
                f"({other.maker or 'none'}); they are two assemblies here. Check the maker.",
            )


def _assess(
    *, landing: Landing, fresh: Mapping[int, Assembly], landed: Mapping[int, Assembly]
) -> None:
    """Date the hazard of what is new and of what changed by the load."""
    changed = {row for row, fields in landing.changes.items() if "hazard" in fields}
    HazardAssessment.objects.bulk_create(
        (
            HazardAssessment(
                premises=assembly.premises,
                assembly=assembly,
                assessed_on=landing.hand.as_of,
                hazard=assembly.hazard,
                finding="As stated in a spreadsheet; the day is the load's.",
                is_stated=True,
                recorded_at=landing.hand.at,
                by=landing.hand.by,
            )
            for row, assembly in landed.items()
            if row in fresh or row in changed
        ),
        batch_size=500,
    )


def shown_size(assembly: Assembly) -> str:
    """The size as it is exported."""
    return size_text(assembly.size_in)
