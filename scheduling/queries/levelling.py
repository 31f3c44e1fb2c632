"""What can be levelled: tests that are coming or open, each with the days on which one counts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cache

from django.db.models import Q, QuerySet

from registry.domain.kinds import ProgramKind
from registry.models import Program
from scheduling.domain.level_visits import Duty
from scheduling.domain.regimes import latest
from scheduling.domain.rulebook import TEST, CycleRule, Regime
from scheduling.models import Obligation, Rulebook
from scheduling.queries.rulebooks import rulebook_from

BY_PLAN = "plan"


@dataclass(frozen=True, kw_only=True)
class Owed:
    """What is levelled and what is not: past its day, failed, or out of use."""

    rows: dict[int, Obligation]
    duties: tuple[Duty, ...]
    past_due: int
    failed: int
    at_rest: int


def owed_between(program: Program, *, first: date, last: date) -> Owed:
    """The tests due in a stretch of days, as levelling sees them: three queries."""
    open_rows = Obligation.objects.filter(
        program=program, kind=TEST, assembly__isnull=False, closed_on__isnull=True
    )
    at_rest = (
        Q(assembly__state__idle_since__isnull=False)
        | Q(assembly__state__removed_on__isnull=False)
        | Q(assembly__state__is_exempt=True)
    )
    due = open_rows.filter(due_on__gte=first, due_on__lte=last)
    in_use = due.exclude(at_rest)
    rule_of = cache(_rules_of())
    rows = {row.pk: row for row in _read(in_use.filter(failed_on__isnull=True))}
    return Owed(
        rows=rows,
        duties=tuple(_duty(row, rule=rule_of(row.rulebook_id, row.rule)) for row in rows.values()),
        past_due=open_rows.filter(due_on__lt=first).exclude(at_rest).count(),
        failed=in_use.filter(failed_on__isnull=False).count(),
        at_rest=due.filter(at_rest).count(),
    )


def assigns_testing(program: Program) -> bool:
    """Whether the program sends the testers: a testing company's own, or one that assigns them."""
    if program.kind == ProgramKind.OWN_CUSTOMERS:
        return True
    return program.assignments.filter(ended_on__isnull=True).exists()


def what_it_steers(program: Program) -> str:
    """What a target does in this program, in a sentence."""
    if assigns_testing(program):
        return "A target steers rounds and courtesy letters; it makes nobody overdue."
    return (
        "Owners here hire their testers: a target steers courtesy letters only, "
        "and makes nobody overdue."
    )


def _read(rows: QuerySet[Obligation]) -> QuerySet[Obligation]:
    return rows.select_related("assembly", "assembly__premises").order_by("due_on", "pk")


def _duty(row: Obligation, *, rule: CycleRule | None) -> Duty:
    counts_from, loses_days = row.opens_on, False
    if rule is not None:
        counts_from = max(row.opens_on, _counts_from(rule, due_on=row.due_on))
        loses_days = rule.regime is Regime.ROLLING
    return Duty(
        key=row.pk,
        place=row.its_assembly.premises_id,
        from_on=min(counts_from, row.due_on),
        due_on=row.due_on,
        loses_days=loses_days,
    )


def _counts_from(rule: CycleRule, *, due_on: date) -> date:
    """The first day a test counts for a due date without moving what follows.

    A season's credit, an anniversary's early window; a rolling test counts on any day.
    """
    if rule.regime is Regime.SEASON and rule.credit_from is not None:
        return latest(month_day=rule.credit_from, by=due_on)
    if rule.regime is Regime.ANNIVERSARY:
        return date.fromordinal(due_on.toordinal() - rule.early_days)
    return date.min


def _rules_of() -> Callable[[int, str], CycleRule | None]:
    """Look up the cycle an obligation names, in the edition it was made under."""

    @cache
    def cycles(rulebook_id: int) -> dict[str, CycleRule]:
        book = rulebook_from(Rulebook.objects.get(pk=rulebook_id))
        return {f"cycle {rule.id}": rule for rule in book.cycles}

    return lambda rulebook_id, name: cycles(rulebook_id).get(name)
