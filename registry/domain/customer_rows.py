"""One row of a customer file from billing: an account with its address, owner, use and state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from registry.domain.cells import Fault, Reading, is_none, letters_of, spellings
from registry.domain.fields import RegistryField as F
from registry.domain.header_synonyms import REGISTRY_HEADERS, spelling_key
from registry.domain.headers import ColumnMap, header_key
from registry.domain.kinds import Hazard, ServiceKind
from registry.domain.row_reader import RowReader
from registry.domain.row_reading import read_owner, read_site
from registry.domain.statements import StatedOwner, StatedSite
from registry.domain.words import read_hazard, read_service

FIELDS = frozenset(
    {
        F.ACCOUNT, F.PREMISES, F.ADDRESS, F.ADDRESS_NUMBER, F.ADDRESS_UNIT, F.CITY, F.STATE,
        F.ZIP, F.LAT, F.LON, F.USE, F.HAZARD, F.SERVICE, F.PHONE, F.STATUS, F.OWNER_NAME,
        F.OWNER_ADDRESS, F.OWNER_ADDRESS_UNIT, F.OWNER_CITY, F.OWNER_STATE, F.OWNER_ZIP,
        F.OWNER_EMAIL, F.OWNER_PHONE,
    }
)  # fmt: skip
"""What a customer file can bring; whatever else it holds is not read."""

_MORE = {
    F.STATUS: "account status|acct status|customer status|billing status|account state",
    F.OWNER_NAME: "account holder|account holder name|holder|holder name|new owner",
}

CUSTOMER_HEADERS: Mapping[str, tuple[str, int]] = {
    **{key: found for key, found in REGISTRY_HEADERS.items() if found[0] in FIELDS},
    **{
        spelling_key(spelling): (field.value, 90 + rank)
        for field, said in _MORE.items()
        for rank, spelling in enumerate(said.split("|"))
    },
}

_ACCOUNT_STATES = frozenset(spelling_key(one) for one in _MORE[F.STATUS].split("|"))


def customer_headers(headers: Sequence[str]) -> Mapping[str, tuple[str, int]]:
    """Return the spellings to read a file by.

    In a sheet of assemblies a plain status is the assembly's: only one that names the account
    says anything of it.
    """
    keys = {header_key(header) for header in headers}
    if not any(REGISTRY_HEADERS.get(key, ("", 0))[0] == F.SERIAL for key in keys):
        return CUSTOMER_HEADERS
    return {
        key: found
        for key, found in CUSTOMER_HEADERS.items()
        if found[0] != F.STATUS or key in _ACCOUNT_STATES
    }


_CLOSED = spellings(
    "CLOSED C CLOSE FINAL FINALED FINALLED FINALIZED FINALBILL FINALBILLED INACTIVE I INACT"
    " TERMINATED TERM ENDED DISCONNECTED DISC CUTOFF OFF SHUTOFF MOVEDOUT N NO"
)
_OPEN = spellings("OPEN O ACTIVE A ACT CURRENT ON LIVE Y YES OK INSERVICE NEW")


@dataclass(frozen=True, kw_only=True)
class StatedCustomer:
    """One row as read. `is_closed` None: the file says nothing of the account's state."""

    row: int
    cells: tuple[str, ...]
    site: StatedSite
    owner: StatedOwner
    hazard: Hazard = Hazard.NOT_ASSESSED
    service: ServiceKind = ServiceKind.UNKNOWN
    is_closed: bool | None = None
    faults: tuple[Fault, ...] = ()
    warnings: tuple[Fault, ...] = ()


def read_customer(*, row: int, cells: Mapping[str, str], columns: ColumnMap) -> StatedCustomer:
    """Read one record. Without an account and without an address it is set aside.

    Where the file has no column of owners, the customer's own name stands for the owner's.
    """
    reader = RowReader(row=row, cells=cells, columns=columns)
    site, owner = read_site(reader), read_owner(reader)
    if not site.account and not site.address:
        reader.fault(
            F.ACCOUNT if columns.brings(F.ACCOUNT) else F.ADDRESS,
            "Neither an account nor an address stands here; write one of them.",
        )
    hazard_header = columns.header_of(F.HAZARD) or ""
    return StatedCustomer(
        row=row,
        cells=tuple(cells.values()),
        site=site,
        owner=owner,
        hazard=reader.read(F.HAZARD, lambda raw: read_hazard(raw, header=hazard_header)),
        service=reader.read(F.SERVICE, read_service),
        is_closed=reader.read(F.STATUS, read_account_state),
        faults=tuple(reader.faults),
        warnings=tuple(reader.warnings),
    )


def read_account_state(raw: str) -> Reading[bool | None]:
    """Whether the account is closed; None where nothing is said.

    Example: `Final billed` is closed, `Active` is not.
    """
    if is_none(raw):
        return Reading(None)
    word = letters_of(raw)
    if word in _CLOSED:
        return Reading(True)
    if word in _OPEN:
        return Reading(False)
    return Reading(None, f"{raw!r} is no state of an account; write open or closed.")
