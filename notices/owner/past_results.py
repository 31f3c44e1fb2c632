"""Past results of the assemblies at a letter's premises, as the owner's page lists them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from notices.domain.briefs import Words
from notices.domain.wording import day_in
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

MOST = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class PastResult:
    """One test of one assembly: its day, what it is called, and how it turned out."""

    day: str
    serial: str
    result: str


def past_results(premises_ids: Sequence[int], *, words: Words) -> tuple[PastResult, ...]:
    """Return the newest results at these premises; one query."""
    kinds = (FactKind.PASSED.value, FactKind.FAILED.value, FactKind.UNTESTABLE.value)
    rows = Fact.objects.filter(
        assembly__premises__in=premises_ids, kind__in=kinds, withdrawn_at__isnull=True
    ).order_by("-on", "-pk")
    return tuple(
        PastResult(day=day_in(on, words=words), serial=serial, result=_result(kind, words=words))
        for on, serial, kind in rows.values_list("on", "assembly__serial", "kind")[:MOST]
    )


def _result(kind: str, *, words: Words) -> str:
    if kind == FactKind.PASSED:
        return words.gettext("passed")
    if kind == FactKind.FAILED:
        return words.gettext("did not pass")
    return words.gettext("could not be tested")
