"""Which letter a scanned or typed line means, and what such a letter still asks for."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q, QuerySet

from notices.domain.codes import read_code, token_digest
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import Channel
from notices.domain.paper_runs import tracking_number
from notices.models import Delivery, Letter, LetterNotice, ReturnedLetter
from registry.models import Program
from scheduling.models import Obligation

BY_POST = (Channel.CERTIFIED, Channel.MAIL, Channel.DOOR, Channel.HAND)
"""In this order a letter that went several ways is taken to have come back."""


@dataclass(frozen=True, slots=True)
class Meant:
    """The letter a line means, and the delivery of it that came back; or why there is none."""

    letter: Letter | None = None
    delivery: Delivery | None = None
    fault: str = ""


def letter_meant(program: Program, *, line: str) -> Meant:
    """Read a scan of the QR, a letter's number, its short code, or a certified number.

    A number that names one way the letter went means that way; else the way by post that has
    not come back yet, certified mail first.
    """
    by_number = Delivery.objects.filter(
        letter__program=program, tracking=tracking_number(line) or "-"
    ).select_related("letter")
    if (named := by_number.first()) is not None:
        return _of(named.letter, named)
    letter = Letter.objects.filter(_is_it(line), program=program).first()
    if letter is None:
        return Meant(fault="No letter has this number or code. Read it from the letter again.")
    gone = Delivery.objects.filter(
        letter=letter, state=DeliveryState.LEFT, channel__in=BY_POST, returns__isnull=True
    )
    ordered = sorted(gone, key=lambda one: (BY_POST.index(Channel(one.channel)), one.pk))
    if not ordered:
        return _none_left(letter)
    return _of(letter, ordered[0])


def obligations_of(letter: Letter) -> QuerySet[Obligation]:
    """Return the open obligations that a letter asks for, with what they are about."""
    carried = LetterNotice.objects.filter(
        letter=letter, is_live=True, notice__obligation__isnull=False
    )
    return (
        Obligation.objects.filter(
            pk__in=carried.values("notice__obligation"), closed_on__isnull=True
        )
        .select_related("program", "rulebook", "assembly__premises", "assembly__connection")
        .order_by("pk")
    )


def _is_it(line: str) -> Q:
    found = Q(number__iexact=line)
    code = read_code(line)
    if code is not None:
        found |= Q(short_code=code)
    token = line.rpartition("/o/")[2].partition("?")[0].strip("/")
    return found | Q(token_hash=token_digest(token)) if token else found


def _of(letter: Letter, delivery: Delivery) -> Meant:
    if delivery.state != DeliveryState.LEFT:
        return Meant(fault=f"Letter {letter.number} has not left by {delivery.channel}.")
    if ReturnedLetter.objects.filter(delivery=delivery).exists():
        return Meant(fault=f"Letter {letter.number} was entered before.")
    return Meant(letter=letter, delivery=delivery)


def _none_left(letter: Letter) -> Meant:
    if letter.returns.exists():
        return Meant(fault=f"Letter {letter.number} was entered before.")
    return Meant(fault=f"Letter {letter.number} has not left by post; it cannot have come back.")
