"""All visits of a day, or of the whole plan, promised as they stand: one change, one undo."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction

from reports.models import Stop
from reports.rounds.changing import Changed, Changer, ChangeRefusedError, change_kept, turn_of
from reports.rounds.day_writing import DayWriter


@transaction.atomic
def promise_all(changer: Changer, stops: Sequence[Stop], *, words: str) -> Changed:
    """Promise these stops as they are planned; what is promised already stays as it is.

    Raises ChangeRefusedError where none is left to promise.
    """
    plan = turn_of(changer)
    planned = changer.read()
    writer = DayWriter(changer.program, planned, changer.hand, plan)
    here = {stop.pk for stop in planned.stops.values()}
    days = set()
    fresh = Stop.objects.filter(pk__in=[stop.pk for stop in stops]).select_related("round")
    for stop in fresh.order_by("arrives_at", "pk"):
        is_open = stop.promised_at is None and stop.cancelled_at is None
        if stop.pk not in here or not is_open or stop.round is None:
            continue
        writer.keep(stop, promised_at=changer.hand.at, promised_by=changer.hand.by)
        days.add((str(stop.round.tester_id), stop.round.on))
    if not days:
        raise ChangeRefusedError("Every visit there is promised already.")
    return change_kept(changer, writer, sorted(days), words=words)
