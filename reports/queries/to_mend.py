"""Reports of testing companies that do not count and wait for nobody, as a letter tells them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet

from notices.domain.in_hand import ReportLacks
from notices.domain.mend_letters import ToMend
from registry.batches import in_batches
from registry.models import Assembly, Program
from reports.domain.verdicts import Outcome
from reports.models import FieldTest
from reports.queries.program_rules import ProgramRules
from reports.queries.reports_in_hand import lacks_of
from reports.queries.serials import assembly_on_record
from scheduling.closed_days import closed_days
from scheduling.domain.facts import FactKind
from scheduling.domain.reporting import ReportDue, report_due
from scheduling.queries.rulebooks import NoRulebookError

UNREADABLE = (Outcome.INCOMPLETE.value, Outcome.REFUSED.value)


def reports_to_mend(program: Program, *, since: date) -> dict[int, list[FieldTest]]:
    """Return by testing company the reports tested since a day that nobody has mended yet.

    Two queries whatever their number. A report is mended by its next version, or by any report of
    the assembly, as late or later, that counts.
    """
    found: dict[int, list[FieldTest]] = defaultdict(list)
    for test in _standing(program, since=since):
        assert test.tester is not None
        found[test.tester.firm_id].append(test)
    return found


def still_to_mend(program: Program, *, ids: Sequence[int]) -> set[int]:
    """Return which of these reports nobody has mended yet."""
    return {
        pk
        for some in in_batches(ids)
        for pk in _unmended(program).filter(pk__in=some).values_list("pk", flat=True)
    }


def told_of(test: FieldTest, *, due: ReportDue | None) -> ToMend:
    """Return what a letter says of one report."""
    assert test.assembly is not None
    premises = test.assembly.premises
    lacks = () if test.counts else lacks_of(test.reasons)
    if test.outcome in UNREADABLE:
        lacks = (*(one for one in lacks if one is not ReportLacks.OTHER), ReportLacks.READINGS)
    return ToMend(
        serial=test.assembly.serial,
        place=", ".join(part for part in (premises.name, premises.address) if part),
        tested_on=test.tested_on,
        tester=test.tester_name or test.tester_certificate,
        lacks=lacks,
        due_on=due.on if due else None,
    )


class DueDays:
    """By when the rulebook of a program wants a report, asked for one after another."""

    def __init__(self, program: Program) -> None:
        self._program = program
        try:
            self._rules: ProgramRules | None = ProgramRules(program)
        except NoRulebookError:
            self._rules = None

    def of(self, test: FieldTest) -> ReportDue | None:
        """The last day for the report of a test, or None where no rule names one."""
        if self._rules is None or test.assembly_id is None:
            return None
        known = assembly_on_record(program=self._program, assembly_id=test.assembly_id)
        if known is None or not known.attributes:
            return None
        about = FactKind.FAILED if test.outcome == Outcome.FAIL else FactKind.PASSED
        return report_due(
            rulebook=self._rules.on(test.tested_on),
            about=about,
            attributes=known.attributes,
            done_on=test.tested_on,
            holidays=closed_days(self._program.state),
        )


def _standing(program: Program, *, since: date) -> QuerySet[FieldTest]:
    rows = _unmended(program).filter(tested_on__gte=since)
    return rows.select_related("assembly__premises", "tester").order_by("tested_on", "pk")


def _unmended(program: Program) -> QuerySet[FieldTest]:
    later = FieldTest.objects.filter(
        assembly=OuterRef("assembly"), tested_on__gte=OuterRef("tested_on"), fact__isnull=False
    ).exclude(pk=OuterRef("pk"))
    removed = Assembly.objects.filter(pk=OuterRef("assembly"), state__removed_on__isnull=False)
    return FieldTest.objects.filter(
        Q(counts=False) | Q(outcome__in=UNREADABLE),
        ~Exists(later),
        ~Exists(removed),
        program=program,
        assembly__isnull=False,
        tester__isnull=False,
        fact__isnull=True,
        hindrance="",
        mended_by__isnull=True,
        waits_for_person=False,
    )
