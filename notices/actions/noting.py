"""Records the notices of what is owed today, many at once: no model objects, few statements.

Obligations that stand alike are worked out once by the ladder; whatever is out of the ordinary,
an order, or a most-letters-a-day is left to the reading one by one. Letters are composed
afterwards for what is recorded here.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from django.db import connection, transaction

from notices.actions.clocks import Day, locked_clock
from notices.models import Notice
from notices.queries.alike import BATCH, alike, day_of, rows_to_look_at
from registry.batches import in_batches
from registry.pouring import pour_as_they_are
from scheduling.domain.ladders import RungStep
from scheduling.models import Obligation

NOTICE: Final[list[Any]] = [f for f in Notice._meta.concrete_fields if not f.primary_key]
GIVEN: Final = {
    field.attname: place
    for place, field in enumerate(NOTICE)
    if field.attname in ("obligation_id", "assembly_id", "premises_id", "matter_key")
}
OBLIGATION, ASSEMBLY, PREMISES, MATTER = (
    GIVEN[name] for name in ("obligation_id", "assembly_id", "premises_id", "matter_key")
)


@dataclass(slots=True)
class _Found:
    notices: list[list[Any]] = field(default_factory=list)
    next_days: dict[date | None, list[int]] = field(default_factory=lambda: defaultdict(list))


def note_owed(day: Day) -> int:
    """Record every ordinary notice owed today, and the next day of what is not owed yet.

    Returns how many notices were recorded; a second time it is none.
    """
    if day.program.letters_a_day is not None:
        return 0
    with transaction.atomic(savepoint=False):
        locked_clock(day.program)
        found = _looked_at(day)
        columns = [f.column for f in NOTICE]
        pour_as_they_are(table=Notice._meta.db_table, columns=columns, rows=found.notices)
        for on, ids in found.next_days.items():
            for some in in_batches(ids, size=BATCH):
                Obligation.objects.filter(pk__in=some).update(next_action_on=on)
    return len(found.notices)


def _looked_at(day: Day) -> _Found:
    rows = rows_to_look_at(day.program, today=day.on)
    found = _Found()
    for pk, assembly_id, premises_id, next_on, like in alike(rows, today=day.on):
        step = like.step
        if step is not None and like.is_owed:
            if not like.is_ordinary:
                continue
            if like.made is None:
                like.made = _notice(step, day=day)
            notice = like.made.copy()
            notice[OBLIGATION], notice[ASSEMBLY], notice[PREMISES] = pk, assembly_id, premises_id
            notice[MATTER] = f"obligation:{pk}"
            found.notices.append(notice)
        elif (on := step.on if step is not None else None) != day_of(next_on):
            found.next_days[on].append(pk)
    return found


def _notice(step: RungStep, *, day: Day) -> list[Any]:
    """The notice of a step as the database takes it, without its ids."""
    notice = Notice(
        program=day.program,
        rung=step.rung.key,
        occurrence=step.occurrence,
        owed_on=step.on,
        recorded_on=day.on,
        run=day.run,
        reasons=[reason.to_json() for reason in step.reasons],
        citation=step.rung.citation[:500],
    )
    return [f.get_db_prep_save(getattr(notice, f.attname), connection) for f in NOTICE]
