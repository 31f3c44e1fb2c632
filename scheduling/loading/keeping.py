"""What stays of a load: the batch, the rows it set aside, one change row with all differences."""

from registry.changes import Hand, record_batch
from registry.domain.whole_file import CheckedRows
from registry.load_reports import LoadReport
from registry.models import LoadBatch, SetAsideRow
from scheduling.loading.landing import Landing

WHAT = "registry"


def keep_batch(
    *,
    batch: LoadBatch,
    digest: str,
    checked: CheckedRows,
    landing: Landing,
    report: LoadReport,
) -> None:
    """Keep the batch, its set-aside rows and one change row; nothing of a load seen before."""
    seen = LoadBatch.objects.filter(program=batch.program, what=WHAT, file_sha256=digest).exists()
    if seen and not landing.created and not landing.changes:
        batch.delete()
        return
    batch.file_sha256 = digest
    batch.tally = report.tally()
    batch.headers = list(report.columns)
    batch.columns = dict(report.columns)
    batch.save()
    SetAsideRow.objects.bulk_create(
        (
            SetAsideRow(
                batch=batch,
                row=row.row,
                cells=list(row.cells),
                faults=[fault.as_json() for fault in row.faults],
            )
            for row in checked.rows
            if row.faults
        ),
        batch_size=500,
    )
    if landing.created or landing.changes:
        hand = Hand(by=batch.by, at=batch.at, reason=f"Load of {batch.file_name}"[:500])
        record_batch(hand=hand, batch=batch, differences=_differences(landing))


def _differences(landing: Landing) -> list[dict[str, object]]:
    created: list[dict[str, object]] = [
        {"row": row, "assembly": landing.assembly_of[row], "created": True}
        for row in sorted(landing.created)
    ]
    updated: list[dict[str, object]] = [
        {"row": row, "assembly": landing.assembly_of[row], "changes": landing.changes[row]}
        for row in sorted(landing.updated)
    ]
    return created + updated
