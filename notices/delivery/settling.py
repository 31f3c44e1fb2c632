"""A letter has left when the last delivery its rulebook asks for has; then its notices have too."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.db.models import Max

from notices.actions.clocks import Day
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import UNSENT_STATES, LetterState
from notices.models import Delivery, Letter, LetterNotice, Notice
from notices.queries.owed import positions
from scheduling.models import Obligation


def settle(letter_ids: Iterable[int], *, day: Day) -> list[int]:
    """Mark as left the leaving letters whose required deliveries have all left; return them.

    The day is that of the last of these. Call it inside a transaction that holds the clock.
    """
    ids = set(
        Letter.objects.filter(pk__in=set(letter_ids), state=LetterState.LEAVING).values_list(
            "pk", flat=True
        )
    )
    required = Delivery.objects.filter(letter__in=ids, is_required=True).order_by()
    open_ones = set(required.exclude(state=DeliveryState.LEFT).values_list("letter_id", flat=True))
    rows = required.values("letter").annotate(on=Max("left_on"), at=Max("left_at"))
    by_day: dict[tuple[date, datetime], list[int]] = defaultdict(list)
    for row in rows:
        if row["letter"] not in open_ones and row["on"] is not None:
            by_day[(row["on"], row["at"])].append(row["letter"])
    for (on, at), left in by_day.items():
        mark_left(left, on=on, at=at, day=day)
    return [key for left in by_day.values() for key in left]


def mark_left(
    letter_ids: Sequence[int], *, on: date, at: datetime, day: Day, how: str = ""
) -> None:
    """Mark letters as left on a day, with their notices and the next days on the ladder.

    A notice that another letter still has to carry, to another recipient, has not left yet.
    """
    told = {"left_how": how} if how else {}
    Letter.objects.filter(pk__in=letter_ids).update(
        state=LetterState.LEFT, left_on=on, left_at=at, **told
    )
    carried = LetterNotice.objects.filter(letter__in=letter_ids, is_live=True)
    notices = dict(
        Notice.objects.filter(
            pk__in=carried.values("notice"), left_on__isnull=True, withdrawn_on__isnull=True
        ).values_list("pk", "obligation_id")
    )
    others = LetterNotice.objects.filter(
        notice__in=notices, is_live=True, letter__state__in=UNSENT_STATES
    )
    unsent = set(others.values_list("notice_id", flat=True))
    gone = {pk: obligation for pk, obligation in notices.items() if pk not in unsent}
    Notice.objects.filter(pk__in=gone).update(left_on=on)
    set_next_days([key for key in gone.values() if key is not None], day=day)


def set_next_days(ids: Sequence[int], *, day: Day) -> None:
    """Store on each obligation the next day on which its ladder asks for something."""
    by_day: dict[object, list[int]] = {}
    for place in positions(ids, today=day.on):
        by_day.setdefault(place.step.on if place.step else None, []).append(place.row.pk)
    for on, rows in by_day.items():
        Obligation.objects.filter(pk__in=rows).update(next_action_on=on)
