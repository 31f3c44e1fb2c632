"""The rungs that left for one assembly, as the ladder of each of its obligations counts them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from notices.domain.owing import counting_occurrence
from notices.models import Notice
from notices.queries.ladders import courtesy_rungs, ladder_of
from registry.models import Assembly
from scheduling.domain.ladders import LeftRung
from scheduling.domain.obligations import ObligationKey
from scheduling.models import Obligation
from scheduling.queries.obligations import key_of


def left_rungs_of(*, assembly: Assembly, as_of: date) -> Mapping[ObligationKey, Sequence[LeftRung]]:
    """Return what had left by a day, by the obligation it counts for.

    A successor inherits what left for the superseded; what was withdrawn or sent in error
    counts for nothing, and a new responsible party restarted the lawful part.
    """
    rows = {
        row.pk: row
        for row in Obligation.objects.filter(assembly=assembly).select_related("rulebook")
    }
    found: dict[ObligationKey, list[LeftRung]] = defaultdict(list)
    notices = Notice.objects.filter(
        obligation__in=rows,
        left_on__isnull=False,
        left_on__lte=as_of,
        withdrawn_on__isnull=True,
        sent_in_error_on__isnull=True,
    )
    for notice in notices.order_by("left_on", "pk"):
        assert notice.obligation_id is not None
        heir = _heir(rows[notice.obligation_id], rows=rows)
        left = _counted(notice, heir=heir)
        if left is not None:
            found[key_of(heir)].append(left)
    return found


def _heir(row: Obligation, *, rows: Mapping[int, Obligation]) -> Obligation:
    """Return the row that now stands for an obligation, through every supersession."""
    seen = {row.pk}
    while (after := row.successor_id) is not None and after in rows and after not in seen:
        row = rows[after]
        seen.add(after)
    return row


def _counted(notice: Notice, *, heir: Obligation) -> LeftRung | None:
    is_courtesy = notice.rung in courtesy_rungs(ladder_of(heir.rulebook))
    occurrence = counting_occurrence(
        notice.occurrence, lawful_since=heir.lawful_since, is_courtesy=is_courtesy
    )
    if occurrence is None or notice.left_on is None:
        return None
    return LeftRung(rung=notice.rung, left_on=notice.left_on, occurrence=occurrence)
