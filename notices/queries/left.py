"""Which rungs have left for an obligation, as its ladder counts them.

A superseded obligation hands down what left to its successor; a new responsible
party makes the lawful rungs count no more; what was sent in error counts for nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from notices.domain.owing import counting_occurrence
from notices.models import Notice
from notices.queries.ladders import courtesy_rungs, ladder_of
from registry.models import Assembly
from scheduling.domain.ladders import LeftRung
from scheduling.domain.obligations import ObligationKey
from scheduling.models import Obligation
from scheduling.queries.obligations import key_of


def left_of_assembly(assembly: Assembly) -> dict[ObligationKey, list[LeftRung]]:
    """Return what left for each obligation of an assembly, as `explain` takes it."""
    rows = list(Obligation.objects.filter(assembly=assembly).select_related("rulebook"))
    left = left_rungs(rows)
    return {key_of(row): left[row.pk] for row in rows}


def left_rungs(rows: Sequence[Obligation]) -> dict[int, list[LeftRung]]:
    """Return what left for each of these rows (read with their rulebooks), by row id."""
    heirs = _heirs([row.pk for row in rows])
    notices = _by_heir(heirs)
    return {row.pk: _counting(row, notices=notices.get(row.pk, ())) for row in rows}


def _heirs(ids: Iterable[int]) -> dict[int, int]:
    """Return whose account each row's notices go to: itself, or a row that superseded it."""
    heirs = {key: key for key in ids}
    newest = dict(heirs)
    while newest:
        found = Obligation.objects.filter(successor__in=newest).values_list("pk", "successor_id")
        newest = {
            key: newest[successor]
            for key, successor in found
            if successor is not None and key not in heirs
        }
        heirs |= newest
    return heirs


def _by_heir(heirs: dict[int, int]) -> dict[int, list[Notice]]:
    found: dict[int, list[Notice]] = defaultdict(list)
    left = Notice.objects.filter(
        obligation__in=heirs,
        left_on__isnull=False,
        withdrawn_on__isnull=True,
        sent_in_error_on__isnull=True,
    )
    for notice in left.order_by("pk"):
        assert notice.obligation_id is not None
        found[heirs[notice.obligation_id]].append(notice)
    return found


def _counting(row: Obligation, *, notices: Iterable[Notice]) -> list[LeftRung]:
    courtesy = courtesy_rungs(ladder_of(row.rulebook))
    left = []
    for notice in notices:
        occurrence = counting_occurrence(
            notice.occurrence, lawful_since=row.lawful_since, is_courtesy=notice.rung in courtesy
        )
        if occurrence is not None and notice.left_on is not None:
            left.append(_rung(notice, occurrence=occurrence, left_on=notice.left_on))
    return left


def _rung(notice: Notice, *, occurrence: str, left_on: date) -> LeftRung:
    return LeftRung(rung=notice.rung, occurrence=occurrence, left_on=left_on)
