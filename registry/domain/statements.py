"""What one row of a registry's spreadsheet states: values alone, with its faults and warnings."""

from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum

from registry.domain.cells import Fault
from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from registry.domain.places import Position
from registry.domain.words import StatedStatus


class TestKind(StrEnum):
    """A test as a spreadsheet states it, without readings."""

    __test__ = False
    PASSED = "passed"
    FAILED = "failed"


@dataclass(frozen=True, kw_only=True)
class StatedTest:
    """A test stated with its day."""

    kind: TestKind
    on: date


@dataclass(frozen=True, kw_only=True)
class StatedOwner:
    """The owner with the mailing address, as one row states it."""

    name: str = ""
    address: str = ""
    city: str = ""
    state: str = ""
    zip: str = ""
    email: str = ""
    phone: str = ""


@dataclass(frozen=True, kw_only=True)
class StatedSite:
    """The premises, as one row states it."""

    account: str = ""
    name: str = ""
    address: str = ""
    city: str = ""
    state: str = ""
    zip: str = ""
    use: str = ""
    phone: str = ""
    call_when: str = ""
    shutdown_tell: str = ""
    shutdown_days: int | None = None
    assigned_to: str = ""
    position: Position = field(default_factory=Position)


@dataclass(frozen=True, kw_only=True)
class StatedAssembly:
    """The assembly, as one row states it. A blank serial means that nobody could read one."""

    type: AssemblyType | None = None
    size_in: Decimal | None = None
    maker: str = ""
    model: str = ""
    serial: str = ""
    location: str = ""
    notes: str = ""
    hazard: Hazard = Hazard.NOT_ASSESSED
    service: ServiceKind = ServiceKind.UNKNOWN
    protects: Protects | None = None
    has_chemicals: bool | None = None
    runs_part_year: bool | None = None
    permit_space: bool | None = None
    has_twin: bool | None = None


@dataclass(frozen=True, kw_only=True)
class StatedHistory:
    """What happened, as one row states it; `due_on`, `opens_on`, `standing` are only compared.

    `result_is_clear` is False where a result is stated that nobody understands: the tests then
    say nothing, and what is stored stays.
    """

    installed_on: date | None = None
    tests: tuple[StatedTest, ...] = ()
    result_is_clear: bool = True
    status: StatedStatus | None = None
    due_on: date | None = None
    opens_on: date | None = None
    standing: str = ""


@dataclass(frozen=True, kw_only=True)
class StatedRow:
    """One row as read. With any fault it is set aside, whole; warnings let it land."""

    row: int
    cells: tuple[str, ...]
    site: StatedSite
    owner: StatedOwner
    assembly: StatedAssembly
    history: StatedHistory
    faults: tuple[Fault, ...] = ()
    warnings: tuple[Fault, ...] = ()

    def with_fault(self, fault: Fault) -> "StatedRow":
        """The same row with one fault more."""
        return replace(self, faults=(*self.faults, fault))

    def with_warning(self, warning: Fault) -> "StatedRow":
        """The same row with one warning more."""
        return replace(self, warnings=(*self.warnings, warning))
