"""The facts of a file: what its rows add to the record, and what they take back."""

from collections.abc import Mapping

from registry.domain.fields import RegistryField as F
from registry.domain.statements import StatedRow
from registry.models import Assembly, LoadBatch
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.loading.landing import Landing
from scheduling.loading.stated_facts import CORRECTED, FactChanges, fact_changes


def land_facts(
    *, landing: Landing, landed: Mapping[int, Assembly], batch: LoadBatch | None
) -> None:
    """Record what the rows state and nobody recorded; withdraw what they correct."""
    fresh: list[NewFact] = []
    wrong: list[int] = []
    for row in landing.rows:
        assembly = landed[row.row]
        changes = _changes(row=row, assembly=assembly, landing=landing)
        for doubt in changes.doubts:
            landing.warn(row=row, name=F.INSTALLED_ON, message=doubt)
        if changes.is_empty:
            continue
        landing.touched.add(assembly.pk)
        landing.note(
            row=row.row,
            name="facts",
            before=", ".join(f"{fact.kind} {fact.on}" for fact in changes.withdrawn),
            after=", ".join(f"{fact.kind} {fact.on}" for fact in changes.added),
        )
        wrong += [fact.id for fact in changes.withdrawn]
        fresh += [
            NewFact(
                assembly_id=assembly.pk,
                kind=fact.kind,
                on=fact.on,
                source=fact.source,
                source_ref=f"row {row.row}",
                reason=fact.reason,
                detail=fact.detail,
            )
            for fact in changes.added
        ]
    _write(landing=landing, fresh=fresh, wrong=wrong, batch=batch)


def _changes(*, row: StatedRow, assembly: Assembly, landing: Landing) -> FactChanges:
    columns = landing.columns
    return fact_changes(
        kept=landing.stored.facts_of(assembly),
        history=row.history,
        states_installation=columns.brings(F.INSTALLED_ON),
        states_passes=columns.brings(F.LAST_PASSED_ON) or columns.brings(F.LAST_TESTED_ON),
        states_failures=columns.brings(F.LAST_TESTED_ON) and columns.brings(F.RESULT),
        as_of=landing.hand.as_of,
    )


def _write(
    *, landing: Landing, fresh: list[NewFact], wrong: list[int], batch: LoadBatch | None
) -> None:
    hand = landing.hand
    for start in range(0, len(wrong), 500):
        withdraw_facts(
            program=landing.program,
            fact_ids=wrong[start : start + 500],
            at=hand.at,
            reason=CORRECTED,
            by=hand.by,
        )
    if fresh:
        record_facts(
            program=landing.program,
            facts=fresh,
            recorded_at=hand.at,
            by=hand.by,
            batch=batch,
            today=hand.as_of,
        )
