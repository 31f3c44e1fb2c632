"""A person settles a letter that came back: a new address, another way, or it goes on as it is."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.returned import send_second, settle
from notices.actions.stopping import restart_clocks
from notices.delivery.settling import set_next_days
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import Channel, LetterState
from notices.domain.returns import CameBack, Settled
from notices.models import Delivery, Letter, LetterNotice, Notice, ReturnedLetter
from notices.queries.returned import obligations_of
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Question
from scheduling.actions.by_hand.premises import keep_party
from scheduling.models import Obligation

ADDRESS = ("address", "city", "state", "zip")


def new_address(
    returned_id: int, *, address: Mapping[str, str], day: Day, hand: Hand
) -> ReturnedLetter:
    """Keep another address of the recipient; the rung goes again, its clock from that leaving.

    Without a street the address now on record holds: somebody mended it before. Refused where
    it is the one the letter came back from; RefusedChangeError where another party has it.
    """
    with transaction.atomic():
        locked_clock(day.program)
        returned = _open(returned_id, day=day)
        if returned.how != CameBack.UNDELIVERABLE:
            raise Refused("This letter found its address. Choose how it goes again.")
        told = {name: " ".join(address.get(name, "").split()) for name in ADDRESS}
        party = returned.letter.recipient
        if told["address"]:
            if party is None:
                raise Refused("It went to whoever is there: name the owner of the premises first.")
            values = {name: getattr(party, name) for name in ("name", "email", "phone", "language")}
            keep_party(program=day.program, party=party, values={**values, **told}, hand=hand)
        kept = _goes_again(returned, day=day)
        ReturnedLetter.objects.filter(pk=returned.pk).update(notices_left=kept)
        restart_clocks(cause=returned, day=day, hand=hand)
        _look_at_once(kept, returned=returned, day=day)
        _answer(returned, how=Settled.NEW_ADDRESS, words=", ".join(filter(None, told.values())),
                day=day, hand=hand)  # fmt: skip
    return returned


def by_other_means(returned_id: int, *, channel: Channel, day: Day, hand: Hand) -> ReturnedLetter:
    """Let a letter go again another way, as a person chose; its clock goes on when that has left.

    Refused where it went that way before.
    """
    with transaction.atomic():
        locked_clock(day.program)
        returned = _open(returned_id, day=day)
        if channel is Channel.EMAIL or returned.delivery is None:
            raise Refused("A second means is on paper: by mail, by hand or at the door.")
        ways = Delivery.objects.filter(letter=returned.letter_id, channel=channel)
        if ways.exists():
            raise Refused(f"It went by {channel} before. Choose another way.")
        send_second(returned, channel=channel, rule=None, day=day)
        if returned.how == CameBack.UNDELIVERABLE:
            Letter.objects.filter(pk=returned.letter_id, state=LetterState.RETURNED).update(
                state=LetterState.LEFT
            )
            restart_clocks(cause=returned, day=day, hand=hand)
        _look_at_once({}, returned=returned, day=day)
        _answer(returned, how=Settled.SECOND_MEANS, words=f"Chosen by {hand.by}: {channel}.",
                day=day, hand=hand)  # fmt: skip
    return returned


def goes_on(returned_id: int, *, day: Day, hand: Hand) -> ReturnedLetter:
    """Let the clock go on though the letter came back; Refused without a reason in `hand`."""
    if not hand.reason.strip():
        raise Refused("Write why the clock may go on; the reason is kept.")
    with transaction.atomic():
        locked_clock(day.program)
        returned = _open(returned_id, day=day)
        restart_clocks(cause=returned, day=day, hand=hand)
        _look_at_once({}, returned=returned, day=day)
        _answer(returned, how=Settled.GOES_ON, words=hand.reason, day=day, hand=hand)
    return returned


def _open(returned_id: int, *, day: Day) -> ReturnedLetter:
    row = (
        ReturnedLetter.objects.select_related("letter__recipient", "delivery")
        .select_for_update(of=("self",))
        .filter(program=day.program, pk=returned_id)
        .first()
    )
    if row is None:
        raise Refused("No such letter came back.")
    if row.settled_at is not None:
        raise Refused("Somebody settled it before.")
    return row


def _goes_again(returned: ReturnedLetter, *, day: Day) -> dict[str, str]:
    """Undo the leaving of each notice that is the last its open obligation had.

    Returns the days on which they had left. What a later letter followed is not told anew.
    """
    carried = LetterNotice.objects.filter(letter=returned.letter_id, is_live=True)
    notices = Notice.objects.filter(
        pk__in=carried.values("notice"), obligation__closed_on__isnull=True
    )
    kept: dict[str, str] = {}
    for notice in notices.order_by("pk"):
        later = Notice.objects.filter(
            obligation=notice.obligation_id, left_on__gt=notice.left_on or day.on
        )
        if later.filter(sent_in_error_on__isnull=True, withdrawn_on__isnull=True).exists():
            continue
        kept[str(notice.pk)] = notice.left_on.isoformat() if notice.left_on else ""
    ids = [int(pk) for pk in kept]
    Notice.objects.filter(pk__in=ids).update(left_on=None)
    carried.filter(notice__in=ids).update(is_live=False)
    Delivery.objects.filter(letter=returned.letter_id, state=DeliveryState.WAITING).update(
        state=DeliveryState.WITHDRAWN
    )
    return kept


def _look_at_once(kept: Mapping[str, str], *, returned: ReturnedLetter, day: Day) -> None:
    again = Notice.objects.filter(pk__in=[int(pk) for pk in kept])
    ids = {pk for pk in again.values_list("obligation_id", flat=True) if pk is not None}
    ids |= set(obligations_of(returned.letter).values_list("pk", flat=True))
    set_next_days(sorted(ids), day=day)
    Obligation.objects.filter(pk__in=ids, next_action_on__lt=day.on).update(next_action_on=day.on)


def _answer(returned: ReturnedLetter, *, how: Settled, words: str, day: Day, hand: Hand) -> None:
    settle(returned, how=how, words=words, day=day, hand=hand)
    Question.objects.filter(
        program=day.program, key=f"returned:{returned.pk}", settled_at__isnull=True
    ).update(settled_at=hand.at, settled_by=hand.by, answer=f"{how.capitalize()}. {words}"[:500])
    record_change(
        hand=hand,
        what="returned letter",
        subject_id=returned.pk,
        label=returned.letter.number,
        before={"settled": ""},
        after={"settled": how.value},
        program=day.program,
    )
