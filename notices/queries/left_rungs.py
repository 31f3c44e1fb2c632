"""The rungs that left, as the ladder of each obligation counts them.

A superseded obligation hands down what left to its successor; a new responsible
party makes the lawful rungs count no more; what was withdrawn or sent in error
counts for nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.db.models import Min, Q

from notices.domain.owing import counting_occurrence
from notices.models import LetterNotice, Notice
from notices.queries.ladders import courtesy_rungs, ladder_of
from registry.models import Assembly
from scheduling.domain.ladders import LeftRung
from scheduling.domain.obligations import ObligationKey
from scheduling.models import Obligation
from scheduling.queries.obligations import key_of


def left_rungs_of(*, assembly: Assembly, as_of: date) -> Mapping[ObligationKey, Sequence[LeftRung]]:
    """Return what had left for an assembly by a day, by the obligation it counts for."""
    rows = list(Obligation.objects.filter(assembly=assembly).select_related("rulebook"))
    left = left_rungs(rows, by=as_of)
    return {key_of(row): left[row.pk] for row in rows if left[row.pk]}


def left_rungs(rows: Sequence[Obligation], *, by: date) -> dict[int, list[LeftRung]]:
    """Return what had left by a day for each of these rows, read with their rulebooks."""
    heirs = _heirs({row.pk: row.successor_id for row in rows})
    notices = _by_heir(heirs, by=by)
    waiting = {row.pk for row in rows if ladder_of(row.rulebook).waits_for_delivery}
    asked = [notice.pk for key in waiting for notice in notices.get(key, ())]
    delivered = delivered_days(asked, by=by) if asked else {}
    return {
        row.pk: _counting(row, notices=notices.get(row.pk, ()), delivered=delivered) for row in rows
    }


def delivered_days(notice_ids: Sequence[int], *, by: date) -> dict[int, date]:
    """Return the day each notice is known to have been delivered, its last letter deciding.

    None is known while a letter that carries it has no delivery recorded by then.
    """
    carried = LetterNotice.objects.filter(notice__in=notice_ids, is_live=True)
    days = carried.annotate(
        day=Min(
            "letter__deliveries__delivered_on", filter=Q(letter__deliveries__delivered_on__lte=by)
        )
    )
    found: dict[int, list[date | None]] = defaultdict(list)
    for notice_id, day in days.values_list("notice_id", "day"):
        found[notice_id].append(day)
    return {key: max(known) for key, all_ in found.items()
            if len(known := [day for day in all_ if day is not None]) == len(all_)}  # fmt: skip


def _heirs(successors: dict[int, int | None]) -> dict[int, int]:
    """Return whose account the notices of each row, and of each it superseded, go to."""
    newest = set(successors)
    while newest:
        found = dict(
            Obligation.objects.filter(successor__in=newest).values_list("pk", "successor_id")
        )
        newest = found.keys() - successors.keys()
        successors |= {key: found[key] for key in newest}
    return {key: _heir(key, successors=successors) for key in successors}


def _heir(key: int, *, successors: Mapping[int, int | None]) -> int:
    seen = {key}
    while (after := successors[key]) is not None and after in successors and after not in seen:
        key = after
        seen.add(after)
    return key


def _by_heir(heirs: Mapping[int, int], *, by: date) -> dict[int, list[Notice]]:
    found: dict[int, list[Notice]] = defaultdict(list)
    left = Notice.objects.filter(
        obligation__in=heirs,
        left_on__lte=by,
        withdrawn_on__isnull=True,
        sent_in_error_on__isnull=True,
    )
    for notice in left.order_by("left_on", "pk"):
        assert notice.obligation_id is not None
        found[heirs[notice.obligation_id]].append(notice)
    return found


def _counting(
    row: Obligation, *, notices: Iterable[Notice], delivered: Mapping[int, date]
) -> list[LeftRung]:
    courtesy = courtesy_rungs(ladder_of(row.rulebook))
    left = [
        counted_rung(
            rung=notice.rung,
            occurrence=notice.occurrence,
            left_on=notice.left_on,
            lawful_since=row.lawful_since,
            courtesy=courtesy,
            delivered_on=delivered.get(notice.pk),
        )
        for notice in notices
        if notice.left_on is not None
    ]
    return [rung for rung in left if rung is not None]


def counted_rung(
    *,
    rung: str,
    occurrence: str,
    left_on: date,
    lawful_since: date | None,
    courtesy: frozenset[str],
    delivered_on: date | None = None,
) -> LeftRung | None:
    """Return a notice that left as the ladder counts it; None where it counts no more."""
    own = counting_occurrence(occurrence, lawful_since=lawful_since, is_courtesy=rung in courtesy)
    if own is None:
        return None
    return LeftRung(rung=rung, occurrence=own, left_on=left_on, delivered_on=delivered_on)
