"""Paper runs: made of what waits, mailed when a person says so, reprinted from the same bytes."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date

from django.db import transaction
from django.db.models import Max, QuerySet

from notices.actions.clocks import Day, locked_clock
from notices.actions.withdrawing import drop_stale
from notices.delivery.late_mailing import set_late_ones_right
from notices.delivery.second_means import MAY_GO, drop_second_means
from notices.delivery.settling import settle
from notices.domain.deliveries import DeliveryState, TryOutcome
from notices.domain.kinds import Channel, LetterState
from notices.domain.long_dates import long_date
from notices.domain.paper_runs import (
    MOST_LETTERS,
    Enclosed,
    in_printing_order,
)
from notices.models import Delivery, DeliveryTry, LetterNotice, PaperRun
from notices.queries.owed import positions
from notices.queries.pacing import days_kept_in, letter_hold
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Program

PAPER = (Channel.MAIL, Channel.CERTIFIED, Channel.HAND, Channel.DOOR)


def waiting_paper(program: Program) -> QuerySet[Delivery]:
    """Paper that is in no run yet. In a trial it has left already, and a run only shows it."""
    rows = Delivery.objects.filter(
        letter__program=program, channel__in=PAPER, run__isnull=True, letter__file__isnull=False
    )
    if program.is_trial:
        return rows.filter(state=DeliveryState.LEFT, letter__state=LetterState.LEFT)
    return rows.filter(MAY_GO, state=DeliveryState.WAITING)


def make_run(*, program: Program, channel: str, day: Day, hand: Hand) -> PaperRun:
    """Gather what waits for a channel into one run, at most 500 letters; Refused when none does.

    Refused too while all letters are held. On a quiet day it may be made: it leaves later.
    """
    hold = letter_hold(program, on=day.on)
    if hold is not None:
        raise Refused(
            f"All letters are held up to and with {long_date(hold.until_on)}: {hold.reason}"
        )
    with transaction.atomic():
        locked_clock(program)
        rows = list(waiting_paper(program).filter(channel=channel).order_by("pk")[:MOST_LETTERS])
        if not program.is_trial:
            rows = _still_standing(rows, day=day)
        if not rows:
            raise Refused("No letter waits for that.")
        ordered = in_printing_order(_enclosed(rows))
        last = PaperRun.objects.filter(program=program).aggregate(n=Max("number"))["n"] or 0
        run = PaperRun.objects.create(
            program=program,
            number=last + 1,
            channel=channel,
            made_on=day.on,
            made_at=hand.at,
            made_by=hand.by,
            letters=len(ordered),
            sheets=sum(one.sheets for one in ordered),
        )
        by_id = {row.pk: row for row in rows}
        for place, one in enumerate(ordered, 1):
            by_id[one.delivery_id].run, by_id[one.delivery_id].place = run, place
        Delivery.objects.bulk_update(by_id.values(), ["run", "place"], batch_size=200)
    return run


def mail_run(
    run: PaperRun, *, on: date, day: Day, hand: Hand, also: Collection[int] = ()
) -> list[int]:
    """Say that a run was mailed on a day: only this starts the clock. Return the letters that left.

    A letter withdrawn meanwhile is taken out before mailing; `also` are deliveries that went
    all the same. Refused for a day before the run was made or to come, and while letters fell
    away that the person has not seen.
    """
    _refuse_wrong_day(run, on=on, day=day)
    fallen = _fallen_away(run, day=day)
    if fallen:
        raise Refused(
            f"{len(fallen)} of its letters fell away just now: {', '.join(fallen[:5])}. "
            "Take them out, or tick those that went, and say it again."
        )
    with transaction.atomic():
        locked_clock(run.program)
        changed = PaperRun.objects.filter(pk=run.pk, mailed_on__isnull=True).update(
            mailed_on=on, mailed_at=hand.at, mailed_by=hand.by
        )
        if not changed:
            raise Refused(f"Run {run.number} was mailed before.")
        rows = Delivery.objects.filter(run=run, state=DeliveryState.WAITING)
        ids = list(rows.filter(MAY_GO).values_list("letter_id", flat=True))
        told = {
            "left_on": on,
            "left_at": hand.at,
            "detail": f"Run {run.number}, mailed {long_date(on)}.",
        }
        rows.filter(letter__in=ids).update(state=DeliveryState.LEFT, **told)
        _went_all_the_same(run, also=also, on=on, hand=hand)
        late = set_late_ones_right(ids, on=on, day=day)
        left = settle(ids, day=day)
        record_change(
            hand=hand,
            what="paper run",
            subject_id=run.pk,
            label=f"run {run.number}",
            before={},
            after={"mailed_on": on.isoformat(), "letters": len(ids), "too_late": len(late)},
            program=run.program,
        )
    return left


def refuse_kept_in(run: PaperRun, *, on: date) -> None:
    """Refuse a mailing day that is quiet or held, for a person to look again and go on."""
    kept = next(iter(days_kept_in(run.program, first=on, last=on)), None)
    if kept is not None:
        what = "All letters were held on" if kept.is_hold else "A quiet day of the office:"
        raise Refused(
            f"{what} {long_date(on)} ({kept.why}). Nothing was changed. If the run was mailed on "
            "that day all the same, tick so and say it again."
        )


def spoiled(run: PaperRun, *, first: int, last: int, hand: Hand) -> None:
    """Keep that letters of a run were spoiled and printed again: the same bytes, no new notice."""
    if not 1 <= first <= last <= run.letters:
        raise Refused(f"Run {run.number} has letters 1 to {run.letters}.")
    with transaction.atomic():
        for row in Delivery.objects.filter(run=run, place__range=(first, last)):
            DeliveryTry.objects.create(
                delivery=row,
                at=hand.at,
                outcome=TryOutcome.REPRINTED,
                words=f"{hand.reason or 'Spoiled'}; printed again by {hand.by}."[:500],
            )
        record_change(
            hand=hand,
            what="paper run",
            subject_id=run.pk,
            label=f"run {run.number}",
            before={},
            after={"printed_again": f"{first} to {last}"},
            program=run.program,
        )


def left_by_hand(row: Delivery, *, on: date, tracking: str, day: Day, hand: Hand) -> None:
    """Keep that one delivery left without a run: handed over, hung on a door, mailed alone."""
    if row.channel not in PAPER or row.run_id is not None:
        raise Refused("This delivery leaves another way.")
    if not row.letter.composed_on <= on <= day.on:
        first = long_date(row.letter.composed_on)
        raise Refused(f"It may have left from {first} to today, {long_date(day.on)}.")
    with transaction.atomic():
        locked_clock(day.program)
        changed = Delivery.objects.filter(MAY_GO, pk=row.pk, state=DeliveryState.WAITING).update(
            state=DeliveryState.LEFT,
            left_on=on,
            left_at=hand.at,
            tracking=tracking,
            detail=f"By {hand.by}. {hand.reason}".strip()[:500],
        )
        if not changed:
            raise Refused("It does not wait any more.")
        set_late_ones_right([row.letter_id], on=on, day=day)
        settle([row.letter_id], day=day)
        record_change(
            hand=hand,
            what="delivery",
            subject_id=row.pk,
            label=f"{row.letter.number} by {row.channel}",
            before={"state": str(DeliveryState.WAITING)},
            after={"state": str(DeliveryState.LEFT), "left_on": on.isoformat()},
            program=day.program,
        )


def _still_standing(rows: Sequence[Delivery], *, day: Day) -> list[Delivery]:
    _drop([row.letter_id for row in rows], day=day)
    ids = [row.pk for row in rows]
    return list(waiting_paper(day.program).filter(pk__in=ids).order_by("pk"))


def _drop(letter_ids: Sequence[int], *, day: Day) -> None:
    carried = LetterNotice.objects.filter(
        letter__in=letter_ids, is_live=True, notice__obligation__isnull=False
    ).order_by("notice__obligation_id")
    ids = [key for key in carried.values_list("notice__obligation_id", flat=True) if key]
    drop_stale(positions(ids, today=day.on, lock=True), day=day)
    drop_second_means(letter_ids)


def _fallen_away(run: PaperRun, *, day: Day) -> list[str]:
    """Withdraw letters of the run whose cause is gone; return their numbers."""
    with transaction.atomic():
        locked_clock(run.program)
        waiting = Delivery.objects.filter(MAY_GO, run=run, state=DeliveryState.WAITING)
        before = dict(waiting.values_list("letter_id", "letter__number"))
        _drop(list(before), day=day)
        after = set(waiting.values_list("letter_id", flat=True))
    return sorted(number for key, number in before.items() if key not in after)


def _refuse_wrong_day(run: PaperRun, *, on: date, day: Day) -> None:
    if run.program.is_trial:
        raise Refused("A trial's letters left on the run's day and reach nobody.")
    if not run.made_on <= on <= day.on:
        raise Refused(
            f"It was mailed from {long_date(run.made_on)}, when it was made, to today, "
            f"{long_date(day.on)}."
        )


def _went_all_the_same(run: PaperRun, *, also: Collection[int], on: date, hand: Hand) -> None:
    Delivery.objects.filter(run=run, pk__in=also, state=DeliveryState.WITHDRAWN).update(
        state=DeliveryState.LEFT,
        left_on=on,
        left_at=hand.at,
        detail=f"Mailed all the same with run {run.number}; the letter had been withdrawn.",
    )


def _enclosed(rows: Sequence[Delivery]) -> list[Enclosed]:
    values = Delivery.objects.filter(pk__in=[row.pk for row in rows]).values_list(
        "pk",
        "letter__number",
        "letter__file__pages",
        "letter__mailing_zip",
        "letter__address_lines",
    )
    return [
        Enclosed(
            delivery_id=pk,
            number=number,
            pages=pages,
            zip=code,
            street=lines[-2] if len(lines) > 1 else "",
        )
        for pk, number, pages, code, lines in values
    ]
