"""A sheet's own due dates and standings beside ours: differences are told, nothing is taken."""

from datetime import date

from registry.domain.fields import RegistryField as F
from registry.domain.statements import StatedRow
from scheduling.loading.landing import Landing
from scheduling.queries.standings import StandingRow, standing_rows


def compare_due_dates(landing: Landing) -> None:
    """Warn where a stated next due date, opening or standing differs from what we work out."""
    if not any(landing.columns.brings(field) for field in (F.DUE_ON, F.OPENS_ON, F.STANDING)):
        return
    ours = {
        row.assembly_id: row
        for row in standing_rows(program=landing.program, as_of=landing.hand.as_of)
    }
    for row in landing.rows:
        found = ours.get(landing.assembly_of[row.row])
        if found:
            _compare(row=row, ours=found, landing=landing)


def _compare(*, row: StatedRow, ours: StandingRow, landing: Landing) -> None:
    _tell(landing=landing, row=row, name=F.DUE_ON, said=row.history.due_on, ours=ours.due_on)
    _tell(landing=landing, row=row, name=F.OPENS_ON, said=row.history.opens_on, ours=ours.opens_on)
    said = row.history.standing.casefold()
    if said and said != str(ours.standing):
        landing.warn(
            row=row,
            name=F.STANDING,
            message=f"The sheet says {said}; by its facts and the rulebook it is {ours.standing}.",
        )


def _tell(
    *, landing: Landing, row: StatedRow, name: F, said: date | None, ours: date | None
) -> None:
    if said is None or said == ours:
        return
    landing.warn(
        row=row,
        name=name,
        message=f"The sheet says {said}; by its facts and the rulebook it is "
        f"{ours or 'not due at all'}. Correct the last test if the sheet is right.",
    )
