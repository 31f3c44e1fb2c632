"""Assemblies that stand alike, counted by the database: the same likeness and dates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import Count, QuerySet

from registry.models import Assembly, Program
from scheduling.domain.comparing import Comparison
from scheduling.domain.ledger import Ledger
from scheduling.domain.likeness import Likeness, shortest_history
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, Regime, SubjectKind
from scheduling.domain.timeline import AttributesFrom, Timeline
from scheduling.models import Obligation
from scheduling.queries.sides import (
    Books,
    Dated,
    Pairs,
    add_pairs,
    is_in_gap,
    owed_by_kind,
    pairs_of,
)

MOST_KEPT: Final = 50_000
"""Groups of which the answer is kept; more than that are worked out anew."""

_COLUMNS: Final = ("likeness", "opens_on", "due_on", "origin")


@dataclass(frozen=True, slots=True)
class Alike:
    """What assemblies that are counted together have in common, as it is stored."""

    words: str
    opens_on: date
    due_on: date
    origin: str

    @property
    def likeness(self) -> Likeness:
        """What they are to the rules, and the day of their last pass."""
        return Likeness.of(self.words)

    @property
    def anchor(self) -> date:
        """The day their cycle counts from."""
        return date.fromisoformat(self.origin.partition(":")[2])


Kept = dict[Alike, Pairs | None]
"""What was worked out for each group already, whichever batch it came in; None: not alike."""


def count_alike(
    *, program: Program, low: int, high: int, books: Books, kept: Kept, into: Comparison
) -> list[int]:
    """Count the assemblies of a range of ids that stand alike; return the ids of the others.

    A group is counted only where replaying its last pass alone, under the rules in force,
    gives the dates that are stored: anything else has a history that must be read.
    """
    everything = _range(Assembly.objects.filter(program=program), low=low, high=high, name="pk")
    ids = everything.order_by("pk").values_list("pk", flat=True)
    if not _has_one_kind(books):
        return list(ids)
    plain = _plain(program=program, low=low, high=high)
    refused: set[Alike] = set()
    counted = 0
    groups: Any = plain.values(*_COLUMNS).annotate(number=Count("pk"))
    for *told, number in groups.values_list(*_COLUMNS, "number"):
        alike = Alike(*told)
        if _take(alike, number=number, books=books, kept=kept, into=into):
            counted += number
        else:
            refused.add(alike)
    if counted == len(ids):
        return []
    return _others(ids, plain=plain, refused=refused)


def alike_in(*, program: Program, low: int, high: int, books: Books) -> dict[int, Alike]:
    """Return the assemblies of a range of ids that may stand alike, each with its group."""
    if not _has_one_kind(books):
        return {}
    rows: Any = _plain(program=program, low=low, high=high)
    return {pk: Alike(*told) for pk, *told in rows.values_list("assembly_id", *_COLUMNS)}


def _others(ids: Sequence[int], *, plain: QuerySet[Obligation], refused: set[Alike]) -> list[int]:
    """Return the assemblies that are of no group, or of one whose histories must be read."""
    rows: Any = plain.values_list("assembly_id", *(_COLUMNS if refused else ()))
    taken = {pk for pk, *told in rows if not refused or Alike(*told) not in refused}
    return [pk for pk in ids if pk not in taken]


def _has_one_kind(books: Books) -> bool:
    """Whether either asks one kind of work of an assembly, and counts no repeat failures."""
    kinds = [book.kinds_of(SubjectKind.ASSEMBLY) for book in (books.in_force, books.draft)]
    is_one = all(len(found) == 1 for found in kinds) and kinds[0][0].name == kinds[1][0].name
    return is_one and not any(entry.rulebook.repeats for entry in (*books.now, *books.then))


def _range(rows: Any, *, low: int, high: int, name: str) -> Any:
    return rows.filter(**{f"{name}__gt": low, f"{name}__lte": high})


def _plain(*, program: Program, low: int, high: int) -> QuerySet[Obligation]:
    """Return what is owed by assemblies of which the last pass says everything, in no order."""
    rows = Obligation.objects.filter(program=program, closed_on__isnull=True).exclude(likeness="")
    found: QuerySet[Obligation] = _range(rows, low=low, high=high, name="assembly_id")
    return found.order_by()


def _take(alike: Alike, *, number: int, books: Books, kept: Kept, into: Comparison) -> bool:
    """Count a group; False where its history must be read."""
    pairs = asked_of(alike, books=books, kept=kept)
    if pairs is None:
        return False
    if not pairs and is_in_gap(books.draft, alike.likeness.attributes):
        into.in_gap += number
    add_pairs(pairs, into=into, times=number)
    return True


def asked_of(alike: Alike, *, books: Books, kept: Kept) -> Pairs | None:
    """Return what is asked of a group, worked out once; None: its histories must be read."""
    if alike not in kept:
        if len(kept) >= MOST_KEPT:
            kept.clear()
        kept[alike] = _answer(alike, books=books)
    return kept[alike]


def _answer(alike: Alike, *, books: Books) -> Pairs | None:
    """Return what is asked of a group, nothing where a gap holds it; None: read its history."""
    likeness, kind = alike.likeness, books.in_force.main_kind
    attributes = likeness.attributes
    if not _follows_from_the_last_pass(books, kind=kind, attributes=attributes):
        return None
    now = _ledger(alike, rulebooks=books.now, books=books)
    owed = owed_by_kind(now).get(kind)
    if owed is None:
        return None
    dates = (owed.opens_on, owed.due_on, owed.key.origin_text)
    if dates != (alike.opens_on, alike.due_on, alike.origin):
        return None
    if is_in_gap(books.draft, attributes):
        return []
    then = _ledger(alike, rulebooks=books.then, books=books)
    return pairs_of(now=now, then=then, attributes=attributes, books=books)


def _follows_from_the_last_pass(books: Books, *, kind: str, attributes: Attributes) -> bool:
    """Whether the last pass, and the anchor that the stored origin names, say everything.

    Every rule in force so far must say how often, the draft may ask nothing. An anchor is known
    only while every rule so far was an anniversary.
    """
    *before, draft = [
        entry.rulebook.cycle_rule(kind=kind, attributes=attributes)
        for entry in (*books.now, *books.then)
    ]
    asked = [*before, draft] if draft is not None else before
    anchored = [rule is not None and rule.regime is Regime.ANNIVERSARY for rule in asked]
    return None not in before and anchored == sorted(anchored, reverse=True)


def _ledger(alike: Alike, *, rulebooks: Dated, books: Books) -> Ledger:
    """Replay the shortest history: the anchor and the last pass."""
    likeness = alike.likeness
    timeline = Timeline(
        attributes=(AttributesFrom(on=date.min, attributes=likeness.attributes),),
        rulebooks=rulebooks,
        recorded_on=likeness.last_passed_on,
        holidays=books.holidays,
    )
    facts = shortest_history(likeness=likeness, anchor=alike.anchor)
    return replay(timeline=timeline, facts=facts, left={}, as_of=books.effective_on)
