"""Records the notices of what is owed today, many at once: no model objects, few statements.

Obligations that stand alike are worked out once by the ladder. Whatever is out of the
ordinary (a notice that has not left or went in error, a new responsible party, a row that took
another's place, a hold, an order, a most-letters-a-day) is left to the reading one by one. Letters
are composed afterwards for what is recorded here.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from operator import itemgetter
from typing import Any, Final

from django.db import connection, transaction
from django.db.models import TextField
from django.db.models.functions import Cast

from notices.actions.clocks import Day, locked_clock
from notices.domain.kinds import LetterKind
from notices.domain.owing import RESTART_MARK
from notices.models import Notice
from notices.queries.holds import held_places
from notices.queries.ladders import ladder_of
from notices.queries.owed import obligations_to_look_at
from notices.queries.responsible import in_batches
from registry.models import Program
from registry.pouring import pour
from scheduling.closed_days import closed_days
from scheduling.domain.ladders import Ladder, LeftRung, RungStep, next_rung
from scheduling.domain.matching import Attributes
from scheduling.models import Adoption, Obligation, Rulebook
from scheduling.queries.obligations import as_domain
from scheduling.queries.shapes import SHAPE, shape_of

READ: Final = (
    "kind",
    "opens_on",
    "due_on",
    "failed_on",
    "cure_by",
    "target_on",
    "opened_on",
    "rulebook_id",
    "prompts",
    "detail",
)
"""What a ladder asks of a row, and what rows that stand alike have in common."""

AS_TEXT: Final = ("prompts", "detail")
"""Columns of READ that hold JSON: read as text, since few rows differ in them."""

SUBJECT: Final = tuple(f"assembly__{name}" for name in SHAPE)
"""What a ladder that tells subjects apart asks besides."""

BATCH = 2_000
"""Rows whose notices are read at a time."""

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
class _Alike:
    """Rows of which the ladder says the same: the step, and the notice without its ids."""

    step: RungStep | None
    notice: list[Any] | None = None


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
    with transaction.atomic():
        locked_clock(day.program)
        found = _looked_at(day)
        pour(table=Notice._meta.db_table, columns=[f.column for f in NOTICE], rows=found.notices)
        for on, ids in found.next_days.items():
            for some in in_batches(ids, size=BATCH):
                Obligation.objects.filter(pk__in=some).update(next_action_on=on)
    return len(found.notices)


def _looked_at(day: Day) -> _Found:
    ladders = _ladders(day.program)
    if any(ladder.waits_for_delivery for ladder in ladders.values()):
        return _Found()
    asked = (*READ, *(SUBJECT if _tell_apart(ladders) else ()))
    told = _rows(asked, ladders=ladders, day=day)
    left, unusual = _told_already([row[0] for row in told], day=day)
    held = held_places(day.program, today=day.on)
    is_any_held = any((held.obligations, held.premises, held.assemblies))
    alike: dict[tuple[Any, ...], _Alike] = {}
    found = _Found()
    for pk, assembly_id, premises_id, next_on, *rest in told:
        if pk in unusual:
            continue
        if is_any_held and held.has(
            obligation_id=pk, assembly_id=assembly_id, premises_id=premises_id
        ):
            continue
        gone = left.get(pk, ())
        key = (*rest, gone)
        if key not in alike:
            values = dict(zip(asked, rest, strict=True))
            values |= {name: json.loads(values[name]) for name in AS_TEXT}
            alike[key] = _worked_out(values, gone=gone, day=day, ladders=ladders)
        like = alike[key]
        if like.notice is not None:
            notice = like.notice.copy()
            notice[OBLIGATION], notice[ASSEMBLY], notice[PREMISES] = pk, assembly_id, premises_id
            notice[MATTER] = f"obligation:{pk}"
            found.notices.append(notice)
        elif not _is_owed(like.step, day=day):
            on = like.step.on if like.step is not None else None
            if on != next_on:
                found.next_days[on].append(pk)
    return found


def _rows(
    asked: Sequence[str], *, ladders: Mapping[int, Ladder], day: Day
) -> list[tuple[Any, ...]]:
    """Read the rows to look at, in their order: ids, the stored next day, and what is asked."""
    rows = obligations_to_look_at(day.program, today=day.on).filter(
        assembly__isnull=False, lawful_since__isnull=True, rulebook__in=ladders
    )
    columns = [Cast(name, TextField()) if name in AS_TEXT else name for name in asked]
    told = rows.values_list(
        "pk", "assembly_id", "assembly__premises_id", "next_action_on", *columns
    )
    return sorted(told, key=itemgetter(0))


def _ladders(program: Program) -> dict[int, Ladder]:
    """Return the whole ladder of every rulebook that a program has adopted, by its row."""
    adopted = Adoption.objects.filter(program=program).values("rulebook_id")
    return {row.pk: ladder_of(row) for row in Rulebook.objects.filter(pk__in=adopted)}


def _tell_apart(ladders: Mapping[int, Ladder]) -> bool:
    return any(ladder.tells_subjects_apart for ladder in ladders.values())


def _told_already(
    ids: Sequence[int], *, day: Day
) -> tuple[dict[int, tuple[LeftRung, ...]], set[int]]:
    """Return what had left for each of these rows, and the rows that are out of the ordinary."""
    left: dict[int, tuple[LeftRung, ...]] = {}
    unusual: set[int] = set()
    for batch in in_batches(ids, size=BATCH):
        unusual.update(
            Obligation.objects.filter(successor__in=batch).values_list("successor_id", flat=True)
        )
        notices = Notice.objects.filter(obligation__in=batch).order_by("left_on", "pk")
        for pk, rung, occurrence, left_on, withdrawn_on, in_error_on in notices.values_list(
            "obligation_id", "rung", "occurrence", "left_on", "withdrawn_on", "sent_in_error_on"
        ):
            is_plain = RESTART_MARK not in occurrence and withdrawn_on is None
            if left_on is None or left_on > day.on or in_error_on is not None or not is_plain:
                unusual.add(pk)
            else:
                gone = LeftRung(rung=rung, occurrence=occurrence, left_on=left_on)
                left[pk] = (*left.get(pk, ()), gone)
    return left, unusual


def _worked_out(
    values: Mapping[str, Any],
    *,
    gone: Sequence[LeftRung],
    day: Day,
    ladders: Mapping[int, Ladder],
) -> _Alike:
    """Return what the ladder says of a row with these values."""
    row = row_of(values)
    has_subject = all(name in values for name in SUBJECT)
    attributes = shape_of(values, prefix="assembly__") if has_subject else Attributes()
    step = next_rung(
        ladder=ladders[row.rulebook_id].for_kind(kind=row.kind, attributes=attributes),
        obligation=as_domain(row),
        left=gone,
        today=day.on,
        holidays=closed_days(day.program.state),
    )
    if step is None or not _is_owed(step, day=day) or not _is_ordinary(step):
        return _Alike(step)
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
    return _Alike(
        step, [f.get_db_prep_save(getattr(notice, f.attname), connection) for f in NOTICE]
    )


def row_of(values: Mapping[str, Any]) -> Obligation:
    """Return a row that stands for all with these values of READ; its origin is any."""
    return Obligation(
        origin="cycle:2000-01-01", period="2000-01-01", **{name: values[name] for name in READ}
    )


def _is_owed(step: RungStep | None, *, day: Day) -> bool:
    return step is not None and step.on <= day.on


def _is_ordinary(step: RungStep) -> bool:
    return not step.rung.is_order and step.rung.words in set(LetterKind)
