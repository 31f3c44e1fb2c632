"""The rungs that left, as the ladder of each obligation counts them.

A superseded obligation hands down what left to its successor; a new responsible
party makes the lawful rungs count no more; what was withdrawn or sent in error
counts for nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
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
    """Return what had left for an assembly by a day, by the obligation it counts for."""
    rows = list(Obligation.objects.filter(assembly=assembly).select_related("rulebook"))
    left = left_rungs(rows, by=as_of)
    return {key_of(row): left[row.pk] for row in rows if left[row.pk]}


def left_rungs(rows: Sequence[Obligation], *, by: date) -> dict[int, list[LeftRung]]:
    """Return what had left by a day for each of these rows, read with their rulebooks."""
    heirs = _heirs({row.pk: row.successor_id for row in rows})
    notices = _by_heir(heirs, by=by)
    return {row.pk: _counting(row, notices=notices.get(row.pk, ())) for row in rows}


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


def _counting(row: Obligation, *, notices: Iterable[Notice]) -> list[LeftRung]:
    courtesy = courtesy_rungs(ladder_of(row.rulebook))
    left = [
        counted_rung(
            rung=notice.rung,
            occurrence=notice.occurrence,
            left_on=notice.left_on,
            lawful_since=row.lawful_since,
            courtesy=courtesy,
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
) -> LeftRung | None:
    """Return a notice that left as the ladder counts it; None where it counts no more."""
    own = counting_occurrence(occurrence, lawful_since=lawful_since, is_courtesy=rung in courtesy)
    return None if own is None else LeftRung(rung=rung, occurrence=own, left_on=left_on)
