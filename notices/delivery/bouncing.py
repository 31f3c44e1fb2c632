"""Takes what was heard of an e-mail after a server had taken it: it bounced, or it is delayed."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.delivery.paper_instead import to_paper
from notices.delivery.stops import stop_address
from notices.domain.bounces import Bounce
from notices.domain.deliveries import DeliveryState, TryOutcome
from notices.domain.kinds import Channel
from notices.models import Delivery, DeliveryTry
from registry.moments import today_in

SOURCE_KEPT = 20_000
"""Letters of a bounce that are kept as they came."""


class Heard(StrEnum):
    """What became of a bounce."""

    FAILED = "failed"
    DELAYED = "delayed"
    KNOWN = "known before"
    NOT_OURS = "about no letter of ours"


def take_bounce(bounce: Bounce, *, source: str, at: datetime) -> Heard:
    """Keep a bounce with its letter; a final one makes it paper. The same bounce counts once."""
    found = _delivery(bounce)
    if found is None:
        return Heard.NOT_OURS
    with transaction.atomic():
        program = found.letter.program
        locked_clock(program)
        row = Delivery.objects.select_for_update(of=("self",)).get(pk=found.pk)
        row.letter = found.letter
        kept = source[:SOURCE_KEPT].replace("\x00", "")
        outcome = TryOutcome.BOUNCED if bounce.is_final else TryOutcome.DELAYED
        if row.log.filter(outcome=outcome, source=kept).exists():
            return Heard.KNOWN
        DeliveryTry.objects.create(
            delivery=row,
            at=at,
            outcome=outcome,
            code=bounce.status,
            words=bounce.words,
            source=kept,
        )
        if not bounce.is_final:
            return Heard.DELAYED
        if bounce.is_bad_address:
            stop_address(program, address=row.address, words=bounce.words, at=at)
        if row.state not in {DeliveryState.FAILED, DeliveryState.WITHDRAWN}:
            day = Day(program=program, on=today_in(zone=program.zone, now=at), at=at)
            to_paper(row, why=f"It came back: {bounce.words or bounce.status}", day=day)
    return Heard.FAILED


def _delivery(bounce: Bounce) -> Delivery | None:
    rows = Delivery.objects.filter(channel=Channel.EMAIL).select_related("letter__program")
    for token in bounce.tokens:
        row = rows.filter(message_id__startswith=f"<{token}@").first()
        if row is not None:
            return row
    return None
