"""Records the notices of what is owed today, many at once: no model objects, few statements.

Obligations that stand alike are worked out once by the ladder. Whatever is out of the
ordinary (a notice that has not left or went in error, a new responsible party, a row that took
another's place, an order, a most-letters-a-day) is left to the reading one by one. Letters
are composed afterwards for what is recorded here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from django.db import connection, transaction

from notices.actions.clocks import Day, locked_clock
from notices.domain.kinds import LetterKind
from notices.domain.owing import RESTART_MARK
from notices.models import Notice
from notices.queries.ladders import ladder_of
from notices.queries.owed import obligations_to_look_at
from notices.queries.responsible import in_batches
from registry.pouring import pour
from scheduling.domain.ladders import LeftRung, RungStep, next_rung
from scheduling.models import Adoption, Obligation, Rulebook
from scheduling.queries.obligations import as_domain

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

BATCH = 2_000
"""Rows whose notices are read at a time."""

NOTICE: Final[list[Any]] = [f for f in Notice._meta.concrete_fields if not f.primary_key]
GIVEN: Final = {
    field.attname: place
    for place, field in enumerate(NOTICE)
    if field.attname in ("obligation_id", "assembly_id", "premises_id", "matter_key")
}


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
            Obligation.objects.filter(pk__in=ids).update(next_action_on=on)
    return len(found.notices)


def _looked_at(day: Day) -> _Found:
    rulebooks = Rulebook.objects.in_bulk(
        Adoption.objects.filter(program=day.program).values_list("rulebook_id", flat=True)
    )
    rows = obligations_to_look_at(day.program, today=day.on).filter(lawful_since__isnull=True)
    alike: dict[tuple[Any, ...], _Alike] = {}
    found = _Found()
    told = list(
        rows.values_list("pk", "assembly_id", "assembly__premises_id", "next_action_on", *READ)
    )
    left, unusual = _told_already([row[0] for row in told], day=day)
    for pk, assembly_id, premises_id, next_on, *rest in told:
        if pk in unusual:
            continue
        gone = left.get(pk, ())
        key = (*rest[:-2], str(rest[-2]), str(rest[-1]), gone)
        if key not in alike:
            row = Obligation(origin="cycle:2000-01-01", period="2000-01-01",
                             **dict(zip(READ, rest, strict=True)))  # fmt: skip
            alike[key] = _worked_out(row, gone=gone, day=day, rulebooks=rulebooks)
        like = alike[key]
        if like.notice is not None:
            notice = like.notice.copy()
            notice[GIVEN["obligation_id"]] = pk
            notice[GIVEN["assembly_id"]] = assembly_id
            notice[GIVEN["premises_id"]] = premises_id
            notice[GIVEN["matter_key"]] = f"obligation:{pk}"
            found.notices.append(notice)
        elif not _is_owed(like.step, day=day):
            on = like.step.on if like.step is not None else None
            if on != next_on:
                found.next_days[on].append(pk)
    return found


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
    row: Obligation, *, gone: Sequence[LeftRung], day: Day, rulebooks: Mapping[int, Rulebook]
) -> _Alike:
    ladder = ladder_of(rulebooks[row.rulebook_id])
    step = next_rung(ladder=ladder, obligation=as_domain(row), left=gone, today=day.on)
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


def _is_owed(step: RungStep | None, *, day: Day) -> bool:
    return step is not None and step.on <= day.on


def _is_ordinary(step: RungStep) -> bool:
    return not step.rung.is_order and step.rung.key in set(LetterKind)
