"""What was found in a file, gathered: faults, columns not read, rows that repeat another."""

from registry.domain.cells import Fault
from registry.domain.header_synonyms import REGISTRY_HEADERS
from registry.domain.headers import ColumnMap
from registry.domain.whole_file import CheckedRows
from registry.header_hints import meant_field
from registry.sheets import Sheet
from scheduling.loading.landing import Landing
from scheduling.loading.reports import LoadReport


def report_of(*, sheet: Sheet, checked: CheckedRows, landing: Landing) -> LoadReport:
    """Gather what a load has to say, once everything has landed."""
    columns = landing.columns
    faults = [fault for row in checked.rows for fault in row.faults]
    warnings = [
        *_header_warnings(columns),
        *(warning for row in checked.rows if not row.faults for warning in row.warnings),
        *_twin_warnings(checked),
        *landing.warnings,
    ]
    set_aside = len({fault.row for fault in faults})
    created, updated = len(landing.created), len(landing.updated)
    return LoadReport(
        rows=len(checked.rows),
        created=created,
        updated=updated,
        unchanged=len(checked.rows) - set_aside - created - updated,
        rejected=faults,
        warnings=sorted(warnings, key=lambda warning: warning.row),
        columns=columns.public(),
        notes=sheet.notes,
    )


def _header_warnings(columns: ColumnMap) -> list[Fault]:
    """One warning for each column that is not read, with what it may have been meant to be."""
    taken = set(columns.fields.values())
    found = []
    for header in columns.unread:
        if header in columns.twins:
            message = f"Not read: {columns.twins[header]!r} already holds this."
        else:
            meant = meant_field(header=header, synonyms=REGISTRY_HEADERS, taken=taken)
            hint = f" Did you mean {meant}? Then rename it." if meant else ""
            message = f"This column is not recognised and not read.{hint}"
        found.append(Fault(row=1, column=header, value=header, message=message))
    return found


def _twin_warnings(checked: CheckedRows) -> list[Fault]:
    faulty = {row.row for row in checked.rows if row.faults}
    return [
        Fault(
            row=row,
            column=None,
            value=None,
            message=f"The row repeats row {first} and is counted as unchanged; take it out.",
        )
        for row, first in checked.twins.items()
        if row not in faulty
    ]
