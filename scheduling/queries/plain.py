"""Assemblies of which the last pass alone says what is owed: no event, failure or pause since."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import BooleanField, Case, Exists, F, IntegerField, OuterRef, Q, Value, When
from django.db.models.functions import Cast, Coalesce

from registry.domain.kinds import Hazard, Protects, ServiceKind
from registry.models import HazardAssessment, Program
from scheduling.domain.facts import FactKind
from scheduling.domain.rulebook import Attributes, Match, Rulebook
from scheduling.models import Fact, Obligation
from scheduling.queries.subjects import ROW, shape_of_row

_KINDS: Final = list(FactKind)
_LATER_IN_THE_DAY: Final = [kind.value for kind in _KINDS[_KINDS.index(FactKind.PASSED) + 1 :]]
_LASTING: Final = [FactKind.HELD.value, FactKind.STOPPED.value, FactKind.EXEMPTED.value]
"""What may reach past the pass that follows it."""

_UNKNOWN: Final = -1
"""Stands for "nobody recorded it" among yes and no, for keys are compared."""

_MAY_BE_UNKNOWN: Final = frozenset({"connection__has_chemicals", "connection__runs_part_year"})
_UNASKED: Final[Mapping[str, str | int]] = {
    "protects": Protects.CONTAINMENT.value,
    "premises__use": "",
    "connection__kind": ServiceKind.UNKNOWN.value,
    "connection__has_chemicals": _UNKNOWN,
    "connection__runs_part_year": _UNKNOWN,
}
"""What stands for a column that no rule asks about: it is not read, and tells nothing apart."""

_SHAPE: Final = {f"shape_{place}": name for place, name in enumerate(ROW)}

KEY: Final = (
    *_SHAPE,
    "last_passed_on",
    "has_opened",
    "stored_origin",
    "stored_period",
    "stored_opens_on",
    "stored_due_on",
    "stored_rule",
    "stored_rulebook",
    "rounds",
)
"""The columns by which plain assemblies are told apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain:
    """What assemblies of one group have in common: their shape, last pass and stored dates.

    `rounds`: a bit for each of the last rounds, the newest the lowest, set where it had failed;
    0 where nobody counts them. `key` holds the columns of KEY as the database gave them.
    """

    attributes: Attributes
    last_passed_on: date
    has_opened: bool
    origin: str
    period: str
    opens_on: date
    due_on: date
    rule: str
    rulebook_id: int
    rounds: int
    key: tuple[Any, ...]

    @classmethod
    def of(cls, row: Mapping[str, Any]) -> Plain:
        """Return the group of a row of the columns of KEY."""
        shape = {name: row[column] for column, name in _SHAPE.items()}
        for name in _MAY_BE_UNKNOWN & shape.keys():
            shape[name] = None if shape[name] == _UNKNOWN else bool(shape[name])
        return cls(
            attributes=shape_of_row(shape, Hazard(shape["hazard"])),
            last_passed_on=_day(row["last_passed_on"]),
            has_opened=bool(row["has_opened"]),
            origin=row["stored_origin"],
            period=row["stored_period"],
            opens_on=_day(row["stored_opens_on"]),
            due_on=_day(row["stored_due_on"]),
            rule=row["stored_rule"],
            rulebook_id=row["stored_rulebook"],
            rounds=row["rounds"],
            key=tuple(row[name] for name in KEY),
        )


def _day(value: date | str) -> date:
    return date.fromisoformat(value) if isinstance(value, str) else value


def columns_asked(rulebooks: Iterable[Rulebook]) -> frozenset[str]:
    """Return the columns of ROW that rules of these rulebooks ask about."""
    found = {"type", "hazard"}
    for match in (match for book in rulebooks for match in _matches(book)):
        asks = {
            "protects": bool(match.protects),
            "premises__use": bool(match.uses) or match.residential is not None,
            "connection__kind": bool(match.services),
            "connection__has_chemicals": match.chemicals is not None,
            "connection__runs_part_year": match.part_year is not None,
        }
        found |= {name for name, is_asked in asks.items() if is_asked}
    return frozenset(found)


def _matches(book: Rulebook) -> Iterator[Match]:
    yield from book.matches()
    yield from (rung.match for rung in book.ladder.rungs)
    yield from (rule.match for rule in book.reports)
    yield from (rule.match for rule in book.hindrances)
    yield from (rule.match for rule in book.protections)


def plain_obligations(*, program: Program, before: date, asked: frozenset[str]) -> Any:
    """Return the obligations, with the columns of KEY, of plain assemblies.

    Their last pass lies before a day, and nothing that a rule asks about came after it. Their
    hazard never was another than now. What is open and levelled is left out, for its next day
    follows from its own target. `asked`: the columns of ROW that tell them apart.
    """
    since = Fact.objects.filter(
        Q(on__gt=OuterRef("assembly__state__last_passed_on"))
        | Q(on=OuterRef("assembly__state__last_passed_on"), kind__in=_LATER_IN_THE_DAY)
        | Q(kind__in=_LASTING),
        program=program,
        assembly=OuterRef("assembly"),
        withdrawn_at__isnull=True,
    ).exclude(kind=FactKind.ASSESSED.value)
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
        assembly__state__last_passed_on__lt=before,
        assembly__state__removed_on__isnull=True,
        assembly__state__idle_since__isnull=True,
        assembly__state__is_exempt=False,
    )
    levelled = Q(opened_on__isnull=False, target_on__isnull=False)
    return _with_key(rows.exclude(levelled).order_by(), asked=asked)


def _with_key(rows: Any, *, asked: frozenset[str]) -> Any:
    shape = {
        column: _comparable(name) if name in asked else Value(_UNASKED[name])
        for column, name in _SHAPE.items()
    }
    opened = Case(
        When(opened_on__isnull=False, then=Value(value=True)),
        default=Value(value=False),
        output_field=BooleanField(),
    )
    return rows.annotate(
        **shape,
        last_passed_on=F("assembly__state__last_passed_on"),
        has_opened=opened,
        stored_origin=F("origin"),
        stored_period=F("period"),
        stored_opens_on=F("opens_on"),
        stored_due_on=F("due_on"),
        stored_rule=F("rule"),
        stored_rulebook=F("rulebook_id"),
        obligation=F("pk"),
        subject=F("assembly_id"),
        rounds=Value(0),
    ).values("obligation", "subject", *KEY)


def _comparable(name: str) -> Any:
    column = F(f"assembly__{name}")
    if name not in _MAY_BE_UNKNOWN:
        return column
    return Coalesce(Cast(column, IntegerField()), Value(_UNKNOWN))
