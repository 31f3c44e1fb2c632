"""A program's registry as rows that load_registry reads back without a change."""

import csv
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Protocol

from django.db.models import Q

from registry.domain.fields import EXPORTED
from registry.domain.formula_guard import guarded
from registry.domain.kinds import PartyRole
from registry.domain.sizes import size_text
from registry.models import Assembly, HazardAssessment, Party, PremisesParty, Program
from scheduling.domain.facts import FactKind
from scheduling.models import Fact
from scheduling.queries.standings import StandingRow, standing_rows, standing_rows_then_known


class Writable(Protocol):
    """Whatever takes text."""

    def write(self, text: str, /) -> object:
        """Take some text."""


_FIGURES = frozenset({"lat", "lon", "size_in"})


def export_rows(
    *, program: Program, as_of: date, known_at: datetime | None = None
) -> Iterator[dict[str, Any]]:
    """Yield one object per assembly, removed ones included, in the order they were recorded.

    Dates are dates, coordinates Decimals, sizes text; what is unknown is None. With `known_at`
    facts, standings, hazards and owners are those known at that moment, of the assemblies
    recorded by then; addresses and plates are kept as they are now alone.
    """
    standings = {
        row.assembly_id: row for row in _standings(program, as_of=as_of, known_at=known_at)
    }
    owners = _owners(program, known_at=known_at)
    told = _told_dates(program=program, as_of=as_of, known_at=known_at)
    hazards = _hazards(program, as_of=as_of, known_at=known_at) if known_at else {}
    assemblies = (
        Assembly.objects.filter(program=program)
        .select_related("premises", "connection")
        .order_by("pk")
    )
    if known_at is not None:
        assemblies = assemblies.filter(created_at__lte=known_at)
    for assembly in assemblies.iterator(chunk_size=2000):
        installed_on, passed_on = told.get(assembly.pk, (None, None))
        assembly.hazard = hazards.get(assembly.pk, assembly.hazard)
        yield {
            **_place(assembly),
            **_owner(owners.get(assembly.premises_id)),
            **_assembly(assembly),
            "installed_on": installed_on,
            "last_passed_on": passed_on,
            **_standing(standings.get(assembly.pk)),
            "notes": assembly.notes or None,
        }


def write_csv(*, rows: Iterable[Mapping[str, Any]], out: Writable) -> None:
    """Write a header and the rows; texts that a spreadsheet would run are made safe."""
    writer = csv.writer(out, lineterminator="\r\n")  # with it a lone CR in a cell is quoted too
    names = [field.value for field in EXPORTED]
    writer.writerow(names)
    for row in rows:
        writer.writerow([_cell(name=name, value=row[name]) for name in names])


def as_json_value(value: object) -> object:
    """A value as the JSON of an export holds it: coordinates are numbers, dates ISO text."""
    if isinstance(value, Decimal):
        return float(value)
    return value.isoformat() if isinstance(value, date) else value


def _place(assembly: Assembly) -> dict[str, Any]:
    site = assembly.premises
    return {
        "account": site.account or None,
        "premises": site.name or None,
        "address": site.address,
        "city": site.city or None,
        "state": site.state or None,
        "zip": site.zip or None,
        "lat": site.lat,
        "lon": site.lon,
        "use": site.use or None,
        "hazard": str(assembly.hazard),
    }


def _owner(party: Party | None) -> dict[str, Any]:
    names = ("name", "address", "city", "state", "zip", "email")
    return {f"owner_{name}": (getattr(party, name) or None) if party else None for name in names}


def _assembly(assembly: Assembly) -> dict[str, Any]:
    return {
        "service": str(assembly.connection.kind) or None,
        "type": str(assembly.type),
        "maker": assembly.maker or None,
        "model": assembly.model or None,
        "serial": assembly.serial,
        "size_in": size_text(assembly.size_in),
        "location": assembly.location or None,
    }


def _standing(row: StandingRow | None) -> dict[str, Any]:
    return {
        "standing": str(row.standing) if row else None,
        "opens_on": row.opens_on if row else None,
        "due_on": row.due_on if row else None,
    }


def _standings(
    program: Program, *, as_of: date, known_at: datetime | None
) -> Iterator[StandingRow]:
    if known_at is None:
        return standing_rows(program=program, as_of=as_of)
    return standing_rows_then_known(program=program, as_of=as_of, known_at=known_at)


def _owners(program: Program, *, known_at: datetime | None) -> dict[int, Party]:
    """The owner of each premises now, or on the day of a moment."""
    roles = PremisesParty.objects.filter(premises__program=program, role=PartyRole.OWNER)
    if known_at is None:
        roles = roles.filter(until_on__isnull=True)
    else:
        day = known_at.date()
        roles = roles.filter(
            Q(until_on__isnull=True) | Q(until_on__gt=day),
            Q(since_on__isnull=True) | Q(since_on__lte=day),
        )
    return {role.premises_id: role.party for role in roles.select_related("party").order_by("pk")}


def _hazards(program: Program, *, as_of: date, known_at: datetime) -> dict[int, str]:
    """The last finding of each assembly's own that was recorded by a moment."""
    found = HazardAssessment.objects.filter(
        premises__program=program,
        assembly__isnull=False,
        assessed_on__lte=as_of,
        recorded_at__lte=known_at,
    ).order_by("assessed_on", "pk")
    rows = found.values_list("assembly_id", "hazard")
    return {assembly_id: hazard for assembly_id, hazard in rows if assembly_id is not None}


def _told_dates(
    *, program: Program, as_of: date, known_at: datetime | None
) -> dict[int, tuple[date | None, date | None]]:
    """The last installation and the last passing test on record by a day, of each assembly."""
    facts = Fact.objects.filter(
        program=program, on__lte=as_of, kind__in=(FactKind.INSTALLED, FactKind.PASSED)
    ).order_by("on")
    if known_at is None:
        facts = facts.filter(withdrawn_at__isnull=True)
    else:
        facts = facts.filter(
            Q(withdrawn_at__isnull=True) | Q(withdrawn_at__gt=known_at), recorded_at__lte=known_at
        )
    found: dict[int, tuple[date | None, date | None]] = {}
    for assembly_id, kind, on, detail in facts.values_list("assembly_id", "kind", "on", "detail"):
        installed_on, passed_on = found.get(assembly_id, (None, None))
        if kind == FactKind.INSTALLED:
            installed_on = on
        elif detail.get("work", "test") == "test":
            passed_on = on
        found[assembly_id] = (installed_on, passed_on)
    return found


def _cell(*, name: str, value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return format(value, "f")
    text = value.isoformat() if isinstance(value, date) else str(value)
    return text if name in _FIGURES else guarded(text)
