"""Assemblies that stand alike, counted by the database: same shape, last pass and due date."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import (
    Count,
    Exists,
    OuterRef,
    Q,
    QuerySet,
)

from registry.models import Assembly, HazardAssessment, Program
from scheduling.domain.comparing import Comparison
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ledger import Ledger
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, Regime, SubjectKind
from scheduling.domain.timeline import AttributesFrom, Timeline
from scheduling.models import Fact as FactRow
from scheduling.models import Obligation
from scheduling.queries.shapes import SHAPE, shape_of
from scheduling.queries.sides import (
    Books,
    Dated,
    Pairs,
    add_pairs,
    is_in_gap,
    owed_by_kind,
    pairs_of,
)

FROM_LAST_PASS = frozenset({Regime.ROLLING, Regime.SEASON})
"""Under these what comes next follows from the last pass alone."""

MOST_KEPT: Final = 50_000
"""Groups of which the answer is kept; more than that are worked out anew."""

_HARMLESS: Final = [FactKind.PASSED.value, FactKind.ASSESSED.value]
_LATER_IN_THE_DAY: Final = [
    kind.value for kind in list(FactKind)[list(FactKind).index(FactKind.PASSED) + 1 :]
]
_COLUMNS: Final = (
    *(f"assembly__{name}" for name in SHAPE),
    "assembly__state__last_passed_on",
    "opens_on",
    "due_on",
    "origin",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """What assemblies that are counted together have in common."""

    attributes: Attributes
    last_passed_on: date
    opens_on: date
    due_on: date
    origin: str

    @classmethod
    def of(cls, row: Mapping[str, Any]) -> Alike:
        """Return what a row's assemblies have in common."""
        return cls(
            attributes=shape_of(row, prefix="assembly__"),
            last_passed_on=row["assembly__state__last_passed_on"],
            opens_on=row["opens_on"],
            due_on=row["due_on"],
            origin=row["origin"],
        )


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
    for row in plain.order_by().values(*_COLUMNS).annotate(number=Count("pk")).iterator():
        alike = Alike.of(row)
        if _take(alike, number=row["number"], books=books, kept=kept, into=into):
            counted += row["number"]
        else:
            refused.add(alike)
    if counted == len(ids):
        return []
    return _others(ids, plain=plain, refused=refused)


def alike_in(*, program: Program, low: int, high: int, books: Books) -> dict[int, Alike]:
    """Return the assemblies of a range of ids that may stand alike, each with its group."""
    if not _has_one_kind(books):
        return {}
    plain = _plain(program=program, low=low, high=high)
    rows: Any = plain.order_by().values("assembly_id", *_COLUMNS).iterator()
    return {row["assembly_id"]: Alike.of(row) for row in rows}


def _others(ids: Sequence[int], *, plain: QuerySet[Obligation], refused: set[Alike]) -> list[int]:
    rows: Any = plain.order_by().values("assembly_id", *_COLUMNS).iterator()
    taken = {row["assembly_id"] for row in rows if not (refused and Alike.of(row) in refused)}
    return [pk for pk in ids if pk not in taken]


def _has_one_kind(books: Books) -> bool:
    """Whether either asks one kind of work of an assembly, and counts no repeat failures."""
    kinds = [book.kinds_of(SubjectKind.ASSEMBLY) for book in (books.in_force, books.draft)]
    is_one = all(len(found) == 1 for found in kinds) and kinds[0][0].name == kinds[1][0].name
    return is_one and not any(entry.rulebook.repeats for entry in (*books.now, *books.then))


def _range(rows: Any, *, low: int, high: int, name: str) -> Any:
    return rows.filter(**{f"{name}__gt": low, f"{name}__lte": high})


def _plain(*, program: Program, low: int, high: int) -> QuerySet[Obligation]:
    """Return what is owed by assemblies of which the last pass says everything.

    No failure, event, extension or idle time since the last pass, nothing found about
    their hazard but what they have now, no dated change, and one obligation, of the cycle.
    """
    since = FactRow.objects.filter(
        Q(on__gt=OuterRef("assembly__state__last_passed_on"))
        | Q(
            on=OuterRef("assembly__state__last_passed_on"),
            kind__in=_LATER_IN_THE_DAY,
        ),
        program=program,
        assembly=OuterRef("assembly"),
        withdrawn_at__isnull=True,
    ).exclude(kind__in=_HARMLESS)
    other_hazard = HazardAssessment.objects.exclude(hazard=OuterRef("assembly__hazard"))
    rows = Obligation.objects.filter(
        ~Exists(since),
        ~Exists(other_hazard.filter(assembly=OuterRef("assembly"))),
        ~Exists(
            other_hazard.filter(assembly__isnull=True, premises=OuterRef("assembly__premises"))
        ),
        program=program,
        closed_on__isnull=True,
        failed_on__isnull=True,
        origin__startswith="cycle:",
        prompts=[],
        assembly__was__isnull=True,
        assembly__state__last_passed_on__isnull=False,
        assembly__state__removed_on__isnull=True,
        assembly__state__idle_since__isnull=True,
    )
    found: QuerySet[Obligation] = _range(rows, low=low, high=high, name="assembly_id")
    return found


def _take(alike: Alike, *, number: int, books: Books, kept: Kept, into: Comparison) -> bool:
    """Count a group; False where its history must be read."""
    pairs = asked_of(alike, books=books, kept=kept)
    if pairs is None:
        return False
    if is_in_gap(books.draft, alike.attributes):
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
    attributes = alike.attributes
    kind = books.in_force.main_kind
    if not _follows_from_the_last_pass(books, kind=kind, attributes=attributes):
        return None
    now = _ledger(alike, rulebooks=books.now, books=books)
    owed = owed_by_kind(now).get(kind)
    if owed is None or (owed.opens_on, owed.due_on) != (alike.opens_on, alike.due_on):
        return None
    if is_in_gap(books.draft, attributes):
        return []
    then = _ledger(alike, rulebooks=books.then, books=books)
    return pairs_of(now=now, then=then, attributes=attributes, books=books)


def _follows_from_the_last_pass(books: Books, *, kind: str, attributes: Attributes) -> bool:
    """Whether every rule in force so far, and the draft's if it has one, counts from there."""
    *before, draft = [
        entry.rulebook.cycle_rule(kind=kind, attributes=attributes)
        for entry in (*books.now, *books.then)
    ]
    return all(rule is not None and rule.regime in FROM_LAST_PASS for rule in before) and (
        draft is None or draft.regime in FROM_LAST_PASS
    )


def _ledger(alike: Alike, *, rulebooks: Dated, books: Books) -> Ledger:
    """Replay the last pass alone."""
    timeline = Timeline(
        attributes=(AttributesFrom(on=date.min, attributes=alike.attributes),),
        rulebooks=rulebooks,
        recorded_on=alike.last_passed_on,
        holidays=books.holidays,
    )
    passed = Fact(kind=FactKind.PASSED, on=alike.last_passed_on)
    return replay(timeline=timeline, facts=[passed], left={}, as_of=books.effective_on)
