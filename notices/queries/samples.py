"""A sample of the letters of one kind that wait: what a person looks at before releasing all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.db.models import QuerySet

from notices.domain.kinds import LetterState
from notices.models import Letter, LetterNotice
from registry.models import Program

SAMPLE: Final = 5
"""Letters looked at: the longest, and others spread evenly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sampled:
    """One letter of a sample: itself, how many notices it carries, and why its first is owed."""

    letter: Letter
    notices: int
    why: str
    citation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """The letters of one kind that wait, and some of them to look at.

    `apart` wait for a person each by itself: something of theirs must be looked at.
    """

    kind: str
    count: int
    newest: int
    apart: int
    letters: tuple[Sampled, ...]


def kinds_waiting(program: Program) -> list[str]:
    """Return the kinds of letter of which some wait for release."""
    waiting = _waiting(program).order_by("kind").values_list("kind", flat=True)
    return list(waiting.distinct())


def sample_of(program: Program, *, kind: str, up_to: int | None = None) -> Sample:
    """Return what waits of a kind, up to a letter's row: the longest, and others spread evenly."""
    waiting = _waiting(program).filter(kind=kind)
    if up_to is not None:
        waiting = waiting.filter(pk__lte=up_to)
    rows = list(waiting.order_by("pk").values_list("pk", "flags", "file__pages"))
    plain = [(pk, pages or 0) for pk, flags, pages in rows if not flags]
    return Sample(
        kind=kind,
        count=len(plain),
        newest=plain[-1][0] if plain else 0,
        apart=len(rows) - len(plain),
        letters=tuple(_sampled(_chosen(plain))),
    )


def ids_of(sample: Sample, *, program: Program, most: int) -> list[int]:
    """Return the letters that a sample stands for, at most so many."""
    waiting = _waiting(program).filter(kind=sample.kind, pk__lte=sample.newest, flags=[])
    return list(waiting.order_by("pk").values_list("pk", flat=True)[:most])


def _waiting(program: Program) -> QuerySet[Letter]:
    return Letter.objects.filter(
        program=program, state=LetterState.COMPOSED, is_order=False, file__isnull=False
    )


def _chosen(plain: Sequence[tuple[int, int]]) -> list[int]:
    """The longest letter, then others spread evenly over all; the same rows choose the same."""
    if len(plain) <= SAMPLE:
        return [pk for pk, _ in plain]
    longest = max(plain, key=lambda row: (row[1], -row[0]))[0]
    others = [pk for pk, _ in plain if pk != longest]
    step = (len(others) - 1) / (SAMPLE - 2)
    return [longest, *(others[round(number * step)] for number in range(SAMPLE - 1))]


def _sampled(ids: Sequence[int]) -> list[Sampled]:
    letters = Letter.objects.select_related("file", "recipient").in_bulk(list(ids))
    carried: dict[int, list[LetterNotice]] = {}
    rows = LetterNotice.objects.filter(letter__in=ids, is_live=True).select_related("notice")
    for row in rows.order_by("pk"):
        carried.setdefault(row.letter_id, []).append(row)
    return [
        Sampled(
            letter=letters[pk],
            notices=len(carried.get(pk, ())),
            why=_why(carried.get(pk, ())),
            citation=carried[pk][0].notice.citation if pk in carried else "",
        )
        for pk in ids
    ]


def _why(carried: Sequence[LetterNotice]) -> str:
    reasons = carried[0].notice.reasons if carried else []
    return str(reasons[-1].get("arithmetic", "")) if reasons else ""
