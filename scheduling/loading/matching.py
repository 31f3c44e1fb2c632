"""Which stored assembly each row speaks of, and which rows bring one that is new."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from registry.domain.identity import account_key, folded, maker_key, serial_key
from registry.domain.statements import StatedRow
from registry.models import Assembly
from scheduling.domain.facts import FactKind
from scheduling.loading.stored import Signature, Stored


@dataclass(kw_only=True)
class Matching:
    """Stored assemblies by row; `named` are rows that bring the serial of an unmarked one."""

    found: dict[int, Assembly] = field(default_factory=dict)
    named: set[int] = field(default_factory=set)

    @cached_property
    def matched(self) -> set[int]:
        """The stored assemblies that the file speaks of; asked for when matching is done."""
        return {assembly.pk for assembly in self.found.values()}


def match_rows(*, rows: Sequence[StatedRow], stored: Stored) -> Matching:
    """Match by maker and serial; without a serial by account, maker, model, type, size, location.

    Among equals without a serial the order decides: the first row is the oldest assembly. A row
    with a new serial is an unmarked assembly that got its serial read, when everything else and
    the day of installation agree; otherwise it is a new assembly.
    """
    matching = Matching()
    for row in rows:
        if row.assembly.serial:
            assembly = stored.assemblies.get(known_by(row))
            if assembly:
                matching.found[row.row] = assembly
    taken = {assembly.pk for assembly in matching.found.values()}
    free = {
        signature: [a for a in assemblies if a.pk not in taken]
        for signature, assemblies in stored.unmarked.items()
    }
    for row in rows:
        if not row.assembly.serial and free.get(stated_signature(row)):
            matching.found[row.row] = free[stated_signature(row)].pop(0)
    for row in rows:
        if row.assembly.serial and row.row not in matching.found:
            _give_serial(row=row, free=free, stored=stored, matching=matching)
    return matching


def known_by(row: StatedRow) -> tuple[str, str]:
    """Maker and serial of a row as they are compared."""
    return maker_key(row.assembly.maker), serial_key(row.assembly.serial)


def stated_signature(row: StatedRow) -> Signature:
    """What a row without a serial is known by."""
    size = row.assembly.size_in
    return (
        account_key(row.site.account),
        maker_key(row.assembly.maker),
        folded(row.assembly.model),
        row.assembly.type or "",
        str(size.normalize()) if size is not None else "",
        folded(row.assembly.location),
    )


def _give_serial(
    *,
    row: StatedRow,
    free: dict[Signature, list[Assembly]],
    stored: Stored,
    matching: Matching,
) -> None:
    candidates = free.get(stated_signature(row), [])
    for assembly in candidates:
        facts = stored.facts_of(assembly)
        installed = [f.on for f in facts if f.kind is FactKind.INSTALLED and f.is_live]
        if installed and row.history.installed_on in installed:
            candidates.remove(assembly)
            matching.found[row.row] = assembly
            matching.named.add(row.row)
            return
