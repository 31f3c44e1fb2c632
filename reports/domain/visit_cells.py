"""How the cells of a row say what was seen on a visit, besides its readings."""

from __future__ import annotations

from datetime import date
from typing import Protocol

from registry.domain.words import read_yes
from reports.domain.report_columns import ReportField
from reports.domain.visits import Visit, cause_named

_PLACE = (
    ReportField.PREMISES,
    ReportField.ADDRESS,
    ReportField.CITY,
    ReportField.MODEL,
    ReportField.SIZE,
    ReportField.LOCATION,
)


class CellsOfRow(Protocol):
    """The cells of one row by what they hold."""

    def has(self, wanted: ReportField) -> bool:
        """Whether the sheet has a column for it."""
        ...

    def raw(self, wanted: ReportField) -> str:
        """The cell as it came; blank without a column."""
        ...

    def words(self, wanted: ReportField) -> str:
        """The cell cleaned; blank where it says "none"."""
        ...


def read_visit(*, cells: CellsOfRow, received_on: date | None) -> Visit:
    """What the row says of the visit; a sheet without these columns says nothing."""
    installed = cells.words(ReportField.INSTALLED).casefold()
    return Visit(
        cause=cause_named(cells.words(ReportField.CAUSE)),
        cause_words=cells.words(ReportField.CAUSE),
        relief_running=read_yes(cells.raw(ReportField.RELIEF_RUNNING)) is True,
        way_around=read_yes(cells.raw(ReportField.WAY_AROUND)) is True,
        installed=installed if installed in {"new", "existing", "replacement"} else "",
        old_serial=cells.words(ReportField.OLD_SERIAL),
        is_proper=read_yes(cells.raw(ReportField.PROPER)),
        improper=cells.words(ReportField.IMPROPER),
        signed_by=(
            cells.words(ReportField.SIGNED_BY) if cells.has(ReportField.SIGNED_BY) else None
        ),
        attested=(
            bool(read_yes(cells.raw(ReportField.ATTESTED)))
            if cells.has(ReportField.ATTESTED)
            else None
        ),
        received_on=received_on,
        place={one.value: cells.words(one) for one in _PLACE if cells.words(one)},
    )
