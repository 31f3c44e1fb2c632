"""What only the whole file can show: addresses told elsewhere, twins, one serial twice."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from registry.domain.cells import Fault
from registry.domain.fields import RegistryField as F
from registry.domain.headers import ColumnMap
from registry.domain.identity import account_key, address_key, folded, maker_key, serial_key
from registry.domain.statements import StatedRow


@dataclass(frozen=True, kw_only=True)
class CheckedRows:
    """All rows of a file after its checks: `twins` maps a row to the earlier row it repeats."""

    rows: tuple[StatedRow, ...]
    twins: dict[int, int]

    @property
    def landing(self) -> tuple[StatedRow, ...]:
        """Rows without faults that repeat no other row."""
        return tuple(row for row in self.rows if not row.faults and row.row not in self.twins)


def check_whole_file(*, rows: Sequence[StatedRow], columns: ColumnMap) -> CheckedRows:
    """Fill in what other rows of the account tell, then find twins and repeated serials.

    Identical rows are one. Of two that differ and have one maker and serial, the second is set
    aside. One serial under two makers is two assemblies, and says so.
    """
    filled = [
        _with_doubt_told(
            row=_with_account_told(row=row, told=told), before=row, told=told, columns=columns
        )
        for row, told in _by_account(rows)
    ]
    addressed = [_without_address(row=row, columns=columns) for row in filled]
    checked, twins = _repeated(rows=addressed, columns=columns)
    return CheckedRows(rows=tuple(_shared_serials(rows=checked, columns=columns)), twins=twins)


def _by_account(rows: Sequence[StatedRow]) -> list[tuple[StatedRow, list[StatedRow]]]:
    accounts: dict[str, list[StatedRow]] = {}
    for row in rows:
        accounts.setdefault(account_key(row.site.account), []).append(row)
    return [
        (row, accounts[account_key(row.site.account)] if row.site.account else []) for row in rows
    ]


def _with_account_told(*, row: StatedRow, told: Sequence[StatedRow]) -> StatedRow:
    """The row with the addresses, its own and the owner's, that its account tells elsewhere."""
    site, owner = row.site, row.owner
    if not site.address:
        other = next((each.site for each in told if each.site.address), None)
        if other:
            site = replace(
                site,
                address=other.address,
                city=site.city or other.city,
                state=site.state or other.state,
                zip=site.zip or other.zip,
            )
    if owner.name and not owner.address:
        mailed = next(
            (
                each.owner
                for each in told
                if each.owner.address and folded(each.owner.name) == folded(owner.name)
            ),
            None,
        )
        if mailed:
            owner = replace(mailed, email=owner.email or mailed.email)
    return replace(row, site=site, owner=owner)


def _with_doubt_told(
    *, row: StatedRow, before: StatedRow, told: Sequence[StatedRow], columns: ColumnMap
) -> StatedRow:
    """A warning where the account has several addresses, of which the first was taken."""
    addresses = {address_key(each.site.address) for each in told if each.site.address}
    if before.site.address or len(addresses) < 2:
        return row
    return row.with_warning(
        Fault(
            row=row.row,
            column=columns.header_of(F.ADDRESS),
            value=_cell(row=row, columns=columns, field=F.ADDRESS),
            message=f"The account has {len(addresses)} addresses; {row.site.address!r}, the first, "
            "was taken. Write the address of this row.",
        )
    )


def _without_address(*, row: StatedRow, columns: ColumnMap) -> StatedRow:
    if row.site.address:
        return row
    header = columns.header_of(F.ADDRESS)
    return row.with_fault(
        Fault(
            row=row.row,
            column=header,
            value=_cell(row=row, columns=columns, field=F.ADDRESS),
            message="No address on this row nor on any row of its account; write the address.",
        )
    )


def _repeated(
    *, rows: Sequence[StatedRow], columns: ColumnMap
) -> tuple[list[StatedRow], dict[int, int]]:
    first: dict[tuple[str, str], StatedRow] = {}
    twins: dict[int, int] = {}
    checked = []
    for row in rows:
        key = _known_by(row)
        if key is None:
            checked.append(row)
            continue
        earlier = first.setdefault(key, row)
        if earlier is row:
            checked.append(row)
        elif _says_the_same(row, earlier):
            twins[row.row] = earlier.row
            checked.append(row)
        else:
            checked.append(_second(row=row, earlier=earlier, columns=columns))
    return checked, twins


def _second(*, row: StatedRow, earlier: StatedRow, columns: ColumnMap) -> StatedRow:
    return row.with_fault(
        Fault(
            row=row.row,
            column=columns.header_of(F.SERIAL),
            value=_cell(row=row, columns=columns, field=F.SERIAL),
            message=f"Row {earlier.row} has the same maker and serial and differs. Correct the "
            "serial on the assembly's plate, or take one of the rows out.",
        )
    )


def _shared_serials(*, rows: Sequence[StatedRow], columns: ColumnMap) -> list[StatedRow]:
    makers: dict[str, dict[str, StatedRow]] = {}
    told = []
    for row in rows:
        key = _known_by(row)
        if key is None or row.faults:
            told.append(row)
            continue
        others = makers.setdefault(key[1], {})
        elsewhere = next((other for maker, other in others.items() if maker != key[0]), None)
        others.setdefault(key[0], row)
        told.append(_shared(row=row, other=elsewhere, columns=columns) if elsewhere else row)
    return told


def _shared(*, row: StatedRow, other: StatedRow, columns: ColumnMap) -> StatedRow:
    return row.with_warning(
        Fault(
            row=row.row,
            column=columns.header_of(F.SERIAL),
            value=_cell(row=row, columns=columns, field=F.SERIAL),
            message=f"Row {other.row} has the same serial under another maker "
            f"({other.assembly.maker or 'none'}); they are two assemblies here. Check the maker.",
        )
    )


def _known_by(row: StatedRow) -> tuple[str, str] | None:
    if not row.assembly.serial:
        return None
    return maker_key(row.assembly.maker), serial_key(row.assembly.serial)


def _says_the_same(row: StatedRow, other: StatedRow) -> bool:
    return (row.site, row.owner, row.assembly, row.history) == (
        other.site,
        other.owner,
        other.assembly,
        other.history,
    )


def _cell(*, row: StatedRow, columns: ColumnMap, field: F) -> str | None:
    header = columns.header_of(field)
    if header is None:
        return None
    return row.cells[list(columns.fields).index(header)]
