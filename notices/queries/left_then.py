"""The rungs that had left by a day as was then known: no later correction moves or undoes them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from django.db.models import Q

from notices.domain.owing import counting_occurrence
from notices.models import Notice
from notices.queries.ladders import courtesy_rungs, ladder_of
from registry.models import Assembly
from scheduling.domain.ladders import LeftRung
from scheduling.domain.obligations import ClosedHow, ObligationKey
from scheduling.models import Obligation
from scheduling.queries.obligations import key_of


def left_then(
    *, assembly: Assembly, by: date, known_on: date
) -> Mapping[ObligationKey, Sequence[LeftRung]]:
    """Return what had left for an assembly by the end of a day, as known on another."""
    rows = Obligation.objects.filter(assembly=assembly).select_related("rulebook")
    return left_then_of(list(rows), by=by, known_on=known_on)


def left_then_of(
    found_rows: Sequence[Obligation], *, by: date, known_on: date
) -> Mapping[ObligationKey, Sequence[LeftRung]]:
    """Return the same for the rows of one subject, read with their rulebooks.

    A row superseded later still stands for itself; a withdrawal or a finding of error made
    later is not yet made; a letter brought along later was not yet known.
    """
    rows = {row.pk: row for row in found_rows}
    notices = Notice.objects.filter(
        Q(withdrawn_on__isnull=True) | Q(withdrawn_on__gt=known_on),
        Q(sent_in_error_on__isnull=True) | Q(sent_in_error_on__gt=known_on),
        Q(is_brought_along=False) | Q(recorded_on__lte=known_on),
        obligation__in=rows,
        left_on__lte=by,
    )
    found: dict[ObligationKey, list[LeftRung]] = defaultdict(list)
    for notice in notices.order_by("left_on", "pk"):
        assert notice.obligation_id is not None
        row = _stood_for(rows[notice.obligation_id], rows=rows, by=known_on)
        since = row.lawful_since if row.lawful_since and row.lawful_since <= known_on else None
        occurrence = counting_occurrence(
            notice.occurrence,
            lawful_since=since,
            is_courtesy=notice.rung in courtesy_rungs(ladder_of(row.rulebook)),
        )
        if occurrence is not None and notice.left_on is not None:
            left = LeftRung(rung=notice.rung, occurrence=occurrence, left_on=notice.left_on)
            found[key_of(row)].append(left)
    return found


def _stood_for(row: Obligation, *, rows: Mapping[int, Obligation], by: date) -> Obligation:
    """The row whose ladder a notice counted for on that day."""
    seen = {row.pk}
    while row.closed_how == ClosedHow.SUPERSEDED and row.closed_on and row.closed_on <= by:
        after = rows.get(row.successor_id or 0)
        if after is None or after.pk in seen:
            return row
        row = after
        seen.add(row.pk)
    return row
