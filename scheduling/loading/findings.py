"""What was found in a file, gathered: faults, columns not read, rows that repeat another."""

from registry.domain.cells import Fault
from registry.domain.header_synonyms import REGISTRY_HEADERS
from registry.domain.whole_file import CheckedRows
from registry.header_hints import unread_columns
from registry.load_reports import LoadReport
from registry.sheets import Sheet
from scheduling.loading.landing import Landing


def report_of(*, sheet: Sheet, checked: CheckedRows, landing: Landing) -> LoadReport:
    """Gather what a load has to say, once everything has landed."""
    columns = landing.columns
    faults = [fault for row in checked.rows for fault in row.faults]
    warnings = [
        *(Fault(row=1, column=None, value=None, message=note) for note in sheet.notes),
        *unread_columns(columns=columns, synonyms=REGISTRY_HEADERS),
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
        assigned=landing.assigned,
    )


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
