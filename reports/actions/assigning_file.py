"""Assignments by a file: one column names the premises, one the testing company."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from registry.actions.assignments import assign_premises
from registry.changes import Hand
from registry.domain.assigned import HowAssigned
from registry.domain.header_synonyms import spelling_key
from registry.domain.identity import firm_key
from registry.models import Firm, Premises, Program
from registry.source_files import LoadRefusedError, SourceFile
from reports.queries.assigning import firms_to_choose

_PREMISES = ("account", "account number", "account no", "customer number", "address")
_FIRMS = ("testing company", "firm", "company", "assigned to", "contractor", "tester company")


@dataclass(frozen=True)
class RowFault:
    """A row that was not taken: its number (the header is 1), column, value, and what to do."""

    row: int
    column: str
    value: str
    message: str


@dataclass(frozen=True)
class FileAssigned:
    """How many rows named premises that have a company now, of which so many are new; faults."""

    rows: int
    fresh: int
    faults: tuple[RowFault, ...]


@transaction.atomic
def assign_by_file(*, program: Program, source: SourceFile, on: date, hand: Hand) -> FileAssigned:
    """Assign what the file says; rows with a fault are told and left out.

    Raises LoadRefusedError for a file without the two columns, or one that cannot be read.
    """
    sheet = source.sheet()
    where, whom = _column(sheet.headers, _PREMISES), _column(sheet.headers, _FIRMS)
    if where is None or whom is None:
        raise LoadRefusedError(
            "The file needs a column Account (or Address) and a column Testing company."
        )
    premises = _premises(program, by_address=spelling_key(sheet.headers[where]) == "ADDRESS")
    firms = {firm.key: firm for firm in firms_to_choose(program)}
    wanted: dict[Firm, set[int]] = defaultdict(set)
    faults: list[RowFault] = []
    for record in sheet.records:
        place, name = record.cells[where].strip(), record.cells[whom].strip()
        if not name:
            continue
        found, firm = premises.get(place.casefold(), set()), firms.get(firm_key(name))
        if len(found) != 1:
            word = "No premises has" if not found else "Several premises have"
            message = f"{word} this. Write it as it stands in the registry."
            faults.append(RowFault(record.row, sheet.headers[where], place, message))
        elif firm is None:
            message = "No approved testing company is called that. Approve it, or mend the name."
            faults.append(RowFault(record.row, sheet.headers[whom], name, message))
        else:
            wanted[firm] |= found
    fresh = sum(
        assign_premises(
            program=program, firm=firm, premises=pks, how=HowAssigned.FILE, on=on, hand=hand
        )
        for firm, pks in wanted.items()
    )
    return FileAssigned(sum(len(pks) for pks in wanted.values()), fresh, tuple(faults))


def _column(headers: tuple[str, ...] | list[str], names: tuple[str, ...]) -> int | None:
    keys = [spelling_key(header) for header in headers]
    wanted = [spelling_key(name) for name in names]
    return next((keys.index(name) for name in wanted if name in keys), None)


def _premises(program: Program, *, by_address: bool) -> dict[str, set[int]]:
    found: dict[str, set[int]] = defaultdict(set)
    field = "address" if by_address else "account"
    rows = Premises.objects.filter(program=program).exclude(**{field: ""})
    for pk, value in rows.values_list("pk", field):
        found[value.strip().casefold()].add(pk)
    return found
