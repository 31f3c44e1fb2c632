"""The outbox of e-mail: rows of our own, claimed for a while, tried, and marked by what was said.

The queue only wakes it. A worker that dies leaves a claim that ends by itself; the row is then
tried again under the same Message-ID, so that nothing is lost and a copy can be told as one.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import F, Max, Q, QuerySet, Value
from django.db.models.functions import Coalesce, Least, Now

from notices.actions.clocks import Day, locked_clock
from notices.actions.withdrawing import drop_stale
from notices.delivery.answers import MailFault, hold, keep_answer, keep_unknown
from notices.delivery.messages import envelope_sender, message_of
from notices.delivery.paper_instead import to_paper
from notices.delivery.settling import settle
from notices.delivery.smtp import Answer, Post
from notices.domain.deliveries import GIVE_UP_AFTER, MOST_UNKNOWN, PAUSES, DeliveryState, TryOutcome
from notices.domain.kinds import Channel, LetterState
from notices.models import Delivery, LetterNotice
from notices.queries.owed import positions
from notices.queries.pacing import why_kept_in
from registry.models import Program
from registry.moments import today_in
from scheduling.models import DayRun

BATCH = 20
"""Claimed at once: what one worker that dies keeps from the others for a while."""

LEASE = timedelta(minutes=10)
"""Longer than a batch can take: each message ends within the server's time limit."""

Clock = Callable[[], datetime]


@dataclass(slots=True, kw_only=True)
class Sent:
    """What a sending came to. `fault`: the server's words when sending had to stop;
    `kept_in`: why nothing was sent on this day."""

    program: str
    taken: int = 0
    later: int = 0
    paper: int = 0
    held: int = 0
    withdrawn: int = 0
    fault: str = ""
    kept_in: str = ""
    letters: list[int] = field(default_factory=list)


def send_waiting(*, program: Program, clock: Clock, server: Post, lease: timedelta = LEASE) -> Sent:
    """Send what waits for its try, a claimed batch at a time, until nothing does."""
    sent = Sent(program=program.code)
    today = today_in(zone=program.zone, now=clock())
    sent.kept_in = why_kept_in(program, on=today) or _why_clock_is_wrong(program, today=today)
    if sent.kept_in:
        return sent
    _settle_left_behind(program, now=clock())
    while batch := _claimed(program, now=clock(), lease=lease, sent=sent):
        done: list[int] = []
        for delivery in batch:
            if not _begun(delivery, now=clock(), lease=lease):
                continue
            answer = _tried(delivery, server=server, now=clock())
            _kept(delivery, answer=answer, program=program, now=clock(), sent=sent)
            done.append(delivery.letter_id)
            if answer.is_set_up:
                sent.fault = f"{answer.code} {answer.words}".strip()
                break
        _settled(done, program=program, now=clock())
        if sent.fault:
            _give_back(batch)
            _out_of_patience(program, now=clock(), sent=sent)
            break
    MailFault(program).tell(sent.fault, today=today_in(zone=program.zone, now=clock()), at=clock())
    return sent


def _why_clock_is_wrong(program: Program, *, today: date) -> str:
    """Say that the day lies before one that was run: a letter would leave on a day gone by."""
    last: date | None = DayRun.objects.filter(program=program).aggregate(on=Max("as_of"))["on"]
    if last is None or last <= today:
        return ""
    return f"the clock says {today}, and {last} was run before: one of the two is wrong."


def waiting_mail(program: Program) -> QuerySet[Delivery]:
    """E-mail of the program's leaving letters that is not out yet."""
    return Delivery.objects.filter(
        channel=Channel.EMAIL,
        letter__program=program,
        state__in=(DeliveryState.WAITING, DeliveryState.GOING),
    )


def _claimed(program: Program, *, now: datetime, lease: timedelta, sent: Sent) -> list[Delivery]:
    """Claim the next batch. Whether each letter still stands is asked again first."""
    with transaction.atomic():
        locked_clock(program)
        day = Day(program=program, on=today_in(zone=program.zone, now=now), at=now)
        free = _free(program, now=now).select_for_update(of=("self",))
        # One whose last try never ended comes last: whatever ended it must not stop the rest.
        rows = list(free.filter(state=DeliveryState.WAITING)[:BATCH]) or list(free[:BATCH])
        if not rows:
            return []
        _withdraw(rows, day=day)
        mine = [row for row in rows if _may_go(row, day=day, sent=sent)]
        claim = secrets.token_hex(16)
        Delivery.objects.filter(pk__in=[row.pk for row in mine]).update(
            claim=claim, claimed_until=Now() + lease
        )
    for row in mine:
        row.claim = claim
    # All of a batch may have been withdrawn or held: look for more.
    return mine or _claimed(program, now=now, lease=lease, sent=sent)


def _free(program: Program, *, now: datetime) -> QuerySet[Delivery]:
    """What nobody holds and whose time has come. A lease counts by the database's clock.

    A lease or a pause that ends later than any can was set by a wrong clock, and holds nothing.
    """
    free = Q(claimed_until__isnull=True) | Q(claimed_until__lt=Now())
    due = Q(not_before__isnull=True) | Q(not_before__lte=now)
    return (
        waiting_mail(program)
        .filter(free | Q(claimed_until__gt=Now() + 2 * LEASE))
        .filter(due | Q(not_before__gt=now + PAUSES[-1]))
        .exclude(letter__state=LetterState.WITHDRAWN, state=DeliveryState.WAITING)
        .select_related("letter__file", "letter__invitation", "letter__program")
        .order_by("pk")
    )


def _withdraw(rows: Sequence[Delivery], *, day: Day) -> None:
    carried = LetterNotice.objects.filter(
        letter__in=[row.letter_id for row in rows], is_live=True, notice__obligation__isnull=False
    ).order_by("notice__obligation_id")
    ids = list(carried.values_list("notice__obligation_id", flat=True))
    drop_stale(positions([key for key in ids if key], today=day.on, lock=True), day=day)
    for row in rows:
        row.letter.refresh_from_db(fields=["state"])


def _may_go(row: Delivery, *, day: Day, sent: Sent) -> bool:
    """Whether to try it now. One whose last try never ended is told, and held at the third."""
    if row.state == DeliveryState.GOING:
        keep_unknown(row, words="The try ended without an answer.", at=day.at)
    if row.letter.state != LetterState.LEAVING:
        sent.withdrawn += 1
        if row.state == DeliveryState.GOING:
            hold(row, day=day, why="It may or may not have left before it was withdrawn.")
        return False
    if row.unknown_tries >= MOST_UNKNOWN:
        sent.held += 1
        hold(row, day=day, why="Three tries ended without an answer; it may have left.")
        return False
    return True


def _begun(row: Delivery, *, now: datetime, lease: timedelta) -> bool:
    """Mark that a try begins, in a commit of its own; False when the claim is no longer ours."""
    held = Delivery.objects.filter(
        pk=row.pk,
        claim=row.claim,
        claimed_until__gt=Now(),
        letter__state=LetterState.LEAVING,
        state__in=(DeliveryState.WAITING, DeliveryState.GOING),
    )
    changed = held.update(
        state=DeliveryState.GOING,
        tries=F("tries") + 1,
        first_tried_at=Least(Coalesce(F("first_tried_at"), Value(now)), Value(now)),
        claimed_until=Now() + lease,
    )
    if changed:
        row.tries += 1
        row.first_tried_at = min(row.first_tried_at or now, now)
    return changed == 1


def _tried(row: Delivery, *, server: Post, now: datetime) -> Answer:
    """Hand it over. A message that cannot be made is this letter's fault alone."""
    try:
        message = message_of(row, at=now)
        sender = envelope_sender(row)
    except (ValueError, KeyError, AttributeError, UnicodeError) as error:
        words = f"The message could not be made: {type(error).__name__}."
        return Answer(outcome=TryOutcome.REFUSED, words=words)
    return server.post(message, sender=sender, recipient=row.address)


def _kept(row: Delivery, *, answer: Answer, program: Program, now: datetime, sent: Sent) -> None:
    with transaction.atomic():
        locked_clock(program)
        day = Day(program=program, on=today_in(zone=program.zone, now=now), at=now)
        state = keep_answer(row, answer=answer, day=day)
    sent.taken += state is DeliveryState.LEFT
    sent.later += state is DeliveryState.WAITING
    sent.paper += state is DeliveryState.FAILED
    sent.held += state is DeliveryState.HELD
    if state is DeliveryState.LEFT:
        sent.letters.append(row.letter_id)


def _settled(letter_ids: Sequence[int], *, program: Program, now: datetime) -> None:
    if not letter_ids:
        return
    with transaction.atomic():
        locked_clock(program)
        day = Day(program=program, on=today_in(zone=program.zone, now=now), at=now)
        settle(letter_ids, day=day)


def _settle_left_behind(program: Program, *, now: datetime) -> None:
    """Letters whose last delivery left while the worker that sent it died."""
    ids = (
        Delivery.objects.filter(
            letter__program=program, letter__state=LetterState.LEAVING, state=DeliveryState.LEFT
        )
        .order_by("letter_id")
        .values_list("letter_id", flat=True)
        .distinct()
    )
    _settled(list(ids), program=program, now=now)


def _give_back(batch: Sequence[Delivery]) -> None:
    """Let go of what was claimed and not tried."""
    for row in batch:
        Delivery.objects.filter(pk=row.pk, claim=row.claim).update(claim="", claimed_until=None)


def _out_of_patience(program: Program, *, now: datetime, sent: Sent) -> None:
    """While nothing goes out, all that waits counts its three days, tried or not; then it is paper.

    Else one letter a wake-up would come to its three days, and the last of many after weeks.
    """
    idle = _free(program, now=now + GIVE_UP_AFTER).filter(
        state=DeliveryState.WAITING, letter__state=LetterState.LEAVING
    )
    not_yet = Q(first_tried_at__isnull=True) | Q(first_tried_at__gt=now)
    untried = idle.filter(not_yet).order_by()
    Delivery.objects.filter(pk__in=untried.values("pk")).update(first_tried_at=now)
    while _to_paper_at_last(
        idle.filter(first_tried_at__lt=now - GIVE_UP_AFTER), now=now, sent=sent
    ):
        pass


def _to_paper_at_last(late: QuerySet[Delivery], *, now: datetime, sent: Sent) -> bool:
    """Make the first of these paper, but for what has fallen away; False when none is left."""
    with transaction.atomic():
        first = late.first()
        if first is None:
            return False
        program = first.letter.program
        locked_clock(program)
        day = Day(program=program, on=today_in(zone=program.zone, now=now), at=now)
        rows = list(late.select_for_update(of=("self",))[:BATCH])
        _withdraw(rows, day=day)
        for row in rows:
            if row.letter.state != LetterState.LEAVING:
                sent.withdrawn += 1
                continue
            to_paper(row, why=f"No server took it in three days. {sent.fault}", day=day)
            sent.paper += 1
        return bool(rows)
