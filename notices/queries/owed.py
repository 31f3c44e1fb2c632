"""Which rung is owed for each open obligation, read for many at once from stored dates."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import QuerySet

from notices.domain.holds import LadderHold, held_back
from notices.domain.kinds import LetterKind
from notices.domain.order_letters import OrderLetter
from notices.domain.owing import OwedNotice, stored_occurrence, urgency_of
from notices.models import LetterNotice, Notice
from notices.queries.addressees import Wanted, addressees, nobody_to_write_to
from notices.queries.holds import holds_on
from notices.queries.ladders import courtesy_rungs, keys_of, ladder_for
from notices.queries.left_rungs import left_rungs
from notices.queries.place_items import is_high, work_of
from notices.queries.shutoff_holds import hold_on
from registry.domain.kinds import Hazard
from registry.models import Program
from scheduling.closed_days import closed_days
from scheduling.domain.ladders import Ladder, LeftRung, RungStep, next_rung
from scheduling.models import Obligation
from scheduling.queries.obligations import as_domain
from scheduling.queries.where import WHERE

WRITTEN = frozenset({*LetterKind, OrderLetter.FIRE_LINE})
"""Kinds of letter that words are kept for."""


@dataclass(frozen=True, slots=True)
class Position:
    """Where one obligation stands on its ladder: the step owed or to come, and its notices."""

    row: Obligation
    step: RungStep | None
    occurrence: str
    pending: Notice | None
    """The notice of that very step, recorded before and not left."""

    others_pending: tuple[Notice, ...]
    """Notices that have not left and are of another step: the ladder no longer asks for them."""

    left: tuple[LeftRung, ...] = ()
    ladder: Ladder = field(default_factory=lambda: Ladder(()))

    @property
    def also_by(self) -> tuple[str, ...]:
        """Channels that the step asks for besides its own."""
        return self.step.rung.also_by if self.step else ()

    @property
    def asks(self) -> Wanted:
        """The premises, and to whom its rulebook has the step go."""
        return (self.row.where.pk, self.step.rung.recipients if self.step else ())

    def is_owed(self, *, today: date) -> bool:
        """Say whether the step is owed today."""
        return self.step is not None and self.row.opened_on is not None and self.step.on <= today


@dataclass(slots=True)
class Unsent:
    """The notices of some obligations that have not left: those waiting, and those withdrawn."""

    waiting: dict[int, list[Notice]] = field(default_factory=lambda: defaultdict(list))
    withdrawn: dict[int, list[Notice]] = field(default_factory=lambda: defaultdict(list))


def obligations_to_look_at(program: Program, *, today: date) -> QuerySet[Obligation]:
    """Return the open obligations whose next day has come, in no order.

    Without a next day nothing is to come: whoever makes a ladder go on sets the day.
    """
    return Obligation.objects.filter(
        program=program,
        closed_on__isnull=True,
        opened_on__isnull=False,
        next_action_on__lte=today,
    ).order_by()


def positions(ids: Sequence[int], *, today: date, lock: bool = False) -> list[Position]:
    """Return where each obligation stands today; `lock` holds the rows for this transaction."""
    return _positions(_rows(ids, lock=lock), today=today)


def positions_as_opened(ids: Sequence[int], *, today: date) -> list[Position]:
    """Return where each would stand had a run opened it today; nothing is written."""
    rows = _rows(ids, lock=False)
    for row in rows:
        row.opened_on = row.opened_on or today
    return _positions(rows, today=today)


def _positions(rows: Sequence[Obligation], *, today: date) -> list[Position]:
    left, unsent = left_rungs(rows, by=today), _unsent([row.pk for row in rows])
    holds = holds_on(rows, left=left, today=today)
    return [
        _position(row, left=left[row.pk], unsent=unsent, holds=holds.get(row.pk, ()), today=today)
        for row in rows
    ]


def owed_notices(found: Iterable[Position], *, today: date) -> list[OwedNotice]:
    """Return what is owed and has no live letter yet."""
    due = [place for place in found if place.is_owed(today=today)]
    if not due:
        return []
    program = due[0].row.program
    to = addressees((place.asks for place in due), program=program, today=today)
    lettered = _with_live_letter([place.pending.pk for place in due if place.pending])
    return [
        _owed(place, to=key, today=today)
        for place in due
        for key in to[place.asks]
        if place.pending is None or (place.pending.pk, key) not in lettered
    ]


def _rows(ids: Sequence[int], *, lock: bool) -> list[Obligation]:
    rows = Obligation.objects.filter(pk__in=ids).select_related(
        "program", "rulebook", "assembly__state", *WHERE
    )
    if lock:
        rows = rows.select_for_update(of=("self",))
    return list(rows.order_by("pk"))


def _unsent(ids: Sequence[int]) -> Unsent:
    found = Unsent()
    for notice in Notice.objects.filter(obligation__in=ids, left_on__isnull=True).order_by("pk"):
        assert notice.obligation_id is not None
        kept = found.waiting if notice.withdrawn_on is None else found.withdrawn
        kept[notice.obligation_id].append(notice)
    return found


def _position(
    row: Obligation,
    *,
    left: Sequence[LeftRung],
    unsent: Unsent,
    holds: Sequence[LadderHold],
    today: date,
) -> Position:
    ladder = ladder_for(row)
    step = next_rung(
        ladder=ladder,
        obligation=as_domain(row),
        left=left,
        today=today,
        holidays=closed_days(row.program.state),
    )
    step = held_back(step, holds=holds, late_from=row.cure_by or row.due_on, today=today)
    occurrence = _stored(step, row=row, courtesy=courtesy_rungs(ladder))

    def is_that_step(notice: Notice) -> bool:
        return step is not None and (notice.rung, notice.occurrence) == (step.rung.key, occurrence)

    waiting = unsent.waiting.get(row.pk, ())
    withdrawn = unsent.withdrawn.get(row.pk, ())
    return Position(
        row=row,
        step=step,
        occurrence=occurrence,
        pending=next(filter(is_that_step, [*waiting, *withdrawn]), None),
        others_pending=tuple(notice for notice in waiting if not is_that_step(notice)),
        left=tuple(left),
        ladder=ladder,
    )


def _stored(step: RungStep | None, *, row: Obligation, courtesy: frozenset[str]) -> str:
    if step is None:
        return ""
    since = None if step.rung.key in courtesy else row.lawful_since
    return stored_occurrence(step.occurrence, lawful_since=since)


def _with_live_letter(notice_ids: Sequence[int]) -> set[tuple[int, str]]:
    live = LetterNotice.objects.filter(notice__in=notice_ids, is_live=True)
    return set(live.values_list("notice_id", "recipient_key"))


def _owed(place: Position, *, to: str, today: date) -> OwedNotice:
    row, step = place.row, place.step
    assert step is not None
    keys = keys_of(place.ladder)
    return OwedNotice(
        obligation_id=row.pk,
        assembly_id=row.assembly_id,
        premises_id=row.where.pk,
        rung=step.rung.key,
        kind=step.rung.words,
        ahead=tuple(keys[keys.index(step.rung.key) + 1 :]),
        occurrence=place.occurrence,
        owed_on=step.on,
        recipient_key=to,
        urgency=urgency_of(
            obligation_id=row.pk,
            is_high=is_high(row) if row.assembly is None else row.assembly.hazard != Hazard.LOW,
            has_failed=row.failed_on is not None,
            late_from=row.cure_by or row.due_on,
        ),
        channel=step.rung.channel,
        citation=step.rung.citation,
        is_order=step.rung.is_order,
        needs_release=step.rung.needs_release or step.rung.is_order,
        reasons=tuple(reason.to_json() for reason in step.reasons),
        skipped=len(step.skipped),
        is_courtesy=step.rung.is_skippable,
        warning=step.warning,
        hold=_hold(row, step=step, to=to, today=today),
        notice_id=place.pending.pk if place.pending else None,
        work=work_of(row),
    )


def _hold(row: Obligation, *, step: RungStep, to: str, today: date) -> str:
    if step.rung.words not in WRITTEN:
        return f"No wording is kept for the rung {step.rung.key}: name a letter in the rulebook."
    if not step.rung.is_order:
        return nobody_to_write_to(to, program=row.program)
    if row.assembly is None:
        return "An order about a service or premises is prepared by a person."
    return hold_on(row.assembly, today=today)
