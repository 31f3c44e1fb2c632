"""Two assemblies merged into one: facts, tests, letters follow, the old number still finds it."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from registry.changes import Hand
from registry.models import Alias, Assembly, HazardAssessment, Merge, Program
from reports.merging.keeping import begin, finish
from reports.merging.obligations import move_obligations
from reports.merging.rows import Record, as_texts, point
from scheduling.actions.by_hand.rows import RefusedChangeError, as_json
from scheduling.actions.replaying import replay_assemblies, replay_premises
from scheduling.actions.standing_board import renew_board
from scheduling.models import AssemblyState

TAKEN_TOGETHER = {
    "serial": ("serial", "serial_key", "serial_is_ours", "maker", "maker_key"),
    "premises": ("premises_id", "connection_id"),
    "location": ("location", "in_vault"),
    "type": ("type",),
    "model": ("model",),
    "size_in": ("size_in",),
    "protects": ("protects",),
    "hazard": ("hazard",),
    "notes": ("notes",),
}
"""What a person chooses between, and the columns that go with each choice."""
_FIELDS = tuple(TAKEN_TOGETHER)


@transaction.atomic
def merge_assemblies(
    *,
    program: Program,
    kept_id: int,
    gone_id: int,
    from_gone: frozenset[str],
    today: date,
    hand: Hand,
) -> Merge:
    """Merge `gone` into `kept` and replay it; `from_gone` names what the other one is right in.

    Raises RefusedChangeError where the two are one already.
    """
    kept, gone = _both(program=program, kept_id=kept_id, gone_id=gone_id)
    record = Record(kept=as_texts([kept]), gone=as_texts([gone]))
    numbers = [(one.serial, one.serial_key, one.maker, one.maker_key) for one in (kept, gone)]
    before, label, left_premises = _shown(kept), str(gone), gone.premises_id
    AssemblyState.objects.filter(assembly=gone).delete()
    move_obligations(gone=gone, kept=kept, today=today, record=record)
    point(Assembly, gone=gone.pk, kept=kept.pk, record=record)
    gone.delete()
    for choice in from_gone & TAKEN_TOGETHER.keys():
        for column in TAKEN_TOGETHER[choice]:
            setattr(kept, column, getattr(gone, column))
    kept.save()
    _assess(kept, today=today, hand=hand, record=record)
    merge = begin(
        program=program, kept=kept, gone_id=gone_id, gone_label=label, today=today, hand=hand
    )
    for serial, key, maker, maker_key in numbers:
        if (key, maker_key) != (kept.serial_key, kept.maker_key):
            Alias.objects.create(
                program=program, merge=merge, assembly=kept, shown=serial, key=key,
                maker=maker, maker_key=maker_key,
            )  # fmt: skip
    replay_assemblies(program=program, assembly_ids=[kept.pk], as_of=today)
    replay_premises(program=program, premises_ids=[left_premises], as_of=today)
    renew_board(program=program, on=today, at=hand.at)
    kept.refresh_from_db()
    finish(merge, kept=kept, record=record, before=before, after=_shown(kept), hand=hand)
    return merge


def _both(*, program: Program, kept_id: int, gone_id: int) -> tuple[Assembly, Assembly]:
    Program.objects.select_for_update().get(pk=program.pk)
    rows = Assembly.objects.select_for_update().filter(program=program, pk__in=(kept_id, gone_id))
    found = {one.pk: one for one in rows.order_by("pk")}
    if len(found) != 2:
        raise RefusedChangeError(
            field="", message="These are not two assemblies of this program any more. Look again."
        )
    return found[kept_id], found[gone_id]


def _shown(one: Assembly) -> dict[str, object]:
    columns = [column for columns in TAKEN_TOGETHER.values() for column in columns]
    shown = [column for column in columns if not column.endswith("_key")]
    return {column: as_json(getattr(one, column)) for column in shown}


def _assess(kept: Assembly, *, today: date, hand: Hand, record: Record) -> None:
    """Date the hazard that was chosen, where the last finding says another."""
    last = HazardAssessment.objects.filter(assembly=kept).order_by("assessed_on", "pk").last()
    if last is None or last.hazard == kept.hazard:
        return
    found = HazardAssessment.objects.create(
        premises_id=kept.premises_id,
        assembly=kept,
        assessed_on=today,
        hazard=kept.hazard,
        finding="Chosen when two assemblies were merged.",
        recorded_at=hand.at,
        by=hand.by,
    )
    record.made["registry.HazardAssessment"] = [found.pk]
