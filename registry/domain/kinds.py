"""The closed lists of the registry: what may be installed, where, for whom, and by whom tested."""

from __future__ import annotations

from enum import StrEnum


class AssemblyType(StrEnum):
    """Types of backflow preventer an office records (ASSE 1013, 1015, 1020 …)."""

    RP = "RP"
    DC = "DC"
    RPDA = "RPDA"
    DCDA = "DCDA"
    RPDA_II = "RPDA-II"
    DCDA_II = "DCDA-II"
    PVB = "PVB"
    SVB = "SVB"
    AVB = "AVB"
    AG = "AG"


UNTESTED_TYPES: frozenset[AssemblyType] = frozenset({AssemblyType.AVB, AssemblyType.AG})
"""Types without a field test: an air gap is measured, an atmospheric breaker inspected."""


class Hazard(StrEnum):
    """Degree of hazard; *not assessed* is treated as high and never printed as high."""

    HIGH = "high"
    LOW = "low"
    NOT_ASSESSED = "not assessed"


class ServiceKind(StrEnum):
    """What the main feeds through a service connection; blank where nobody recorded it."""

    UNKNOWN = ""
    DOMESTIC = "domestic"
    IRRIGATION = "irrigation"
    FIRE = "fire"
    COMBINED = "combined domestic and fire"
    RECLAIMED = "reclaimed"
    AUXILIARY = "auxiliary"


class Protects(StrEnum):
    """Containment protects the main, isolation a fixture."""

    CONTAINMENT = "containment"
    ISOLATION = "isolation"


class ProgramKind(StrEnum):
    """A purveyor's program, or the customers of a testing company that stands alone."""

    PURVEYOR = "purveyor"
    OWN_CUSTOMERS = "own customers"


class DateOrder(StrEnum):
    """How a program's spreadsheets write a date with figures only."""

    MONTH_FIRST = "month first"
    DAY_FIRST = "day first"


class PartyRole(StrEnum):
    """What a party is to a premises."""

    OWNER = "owner"
    MANAGER = "manager"
    OCCUPANT = "occupant"
    CUSTOMER = "customer"


class Role(StrEnum):
    """What a person may do: in a program, in a testing company, or for one party."""

    ADMINISTRATOR = "administrator"
    CLERK = "clerk"
    AUDITOR = "auditor"
    DISPATCHER = "dispatcher"
    TESTER = "tester"
    PROPERTY_MANAGER = "property manager"


PROGRAM_ROLES = (Role.ADMINISTRATOR, Role.CLERK, Role.AUDITOR)
FIRM_ROLES = (Role.DISPATCHER, Role.TESTER)


class PictureKind(StrEnum):
    """Pictures and scans that are kept with a hash, and whose bytes may be removed."""

    HANDED_OVER = "handover-photo"
    REPORT_PHOTO = "report-photo"
    SCAN = "scanned-report"
    SIGNATURE = "drawn-signature"
