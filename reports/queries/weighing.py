"""A batch of reports weighed against a program's registry and record, in a few questions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property

from registry.models import Program
from reports.domain.admissibility import CredentialRecord
from reports.domain.assessing import AssemblyOnRecord, Assessed, assess
from reports.domain.near_serials import KnownSerial, SerialIndex
from reports.domain.readings import ReadingName
from reports.domain.report_rows import FieldReport
from reports.queries.credentials import credential_record
from reports.queries.program_rules import ProgramRules
from reports.queries.serials import AssembliesBySerial, serial_index
from scheduling.closed_days import closed_days
from scheduling.domain.reporting import report_due

Advance = Callable[[int, int], None]


class Weighing:
    """What reports of one program are held against; asked for once, used for every report."""

    def __init__(
        self, *, program: Program, method: str | None, received_on: date | None = None
    ) -> None:
        """Raises NoRulebookError; a method nobody knows raises UnknownMethodError when used.

        `received_on` is the day the reports came in, where they say none; None asks nothing.
        """
        self._program = program
        self._method = method
        self._received_on = received_on
        self._rules = ProgramRules(program)
        self._record = credential_record(program=program, months=0, citation="")

    @cached_property
    def _index(self) -> SerialIndex:
        return serial_index(self._program)

    def weigh(
        self,
        reports: Sequence[FieldReport],
        *,
        twins: frozenset[ReadingName],
        advance: Advance | None = None,
    ) -> list[Assessed]:
        """Weigh the reports in their order."""
        keys = {report.serial_key for report in reports}
        assemblies = AssembliesBySerial(program=self._program, keys=keys)
        weighed: list[Assessed] = []
        for done, report in enumerate(reports, start=1):
            assembly = assemblies.meant_by(report)
            weighed.append(self.weigh_for(report, assembly=assembly, twins=twins))
            if advance and done % 50 == 0:
                advance(done, len(reports))
        return weighed

    def weigh_for(
        self,
        report: FieldReport,
        *,
        assembly: AssemblyOnRecord | None,
        twins: frozenset[ReadingName],
    ) -> Assessed:
        """Weigh one report for the assembly it is said to mean."""
        assessed = assess(
            report=report,
            assembly=assembly,
            near=self._near(report) if assembly is None else (),
            twins=twins,
            limits=self._rules.limits_on(report.tested_on, method=self._method),
            record=self._record_on(report),
        )
        late = self._late(assessed)
        return replace(assessed, warnings=(*assessed.warnings, late)) if late else assessed

    def _late(self, one: Assessed) -> str:
        """Whether the report came in later than the rulebook wants; it is warned, never refused."""
        received = one.report.visit.received_on or self._received_on
        about = one.parts.fact if one.parts else None
        if received is None or about is None or one.assembly is None:
            return ""
        attributes = one.assembly.attributes
        due = attributes and report_due(
            rulebook=self._rules.on(one.report.tested_on),
            about=about,
            attributes=attributes,
            done_on=one.report.tested_on,
            holidays=closed_days(self._program.state),
        )
        if not due or received <= due.on:
            return ""
        days = (received - due.on).days
        late = f"{days} day{'' if days == 1 else 's'} late"
        return f"came in on {received}, {late}: it was due by {due.on} ({due.reason.citation})"

    def _near(self, report: FieldReport) -> list[KnownSerial]:
        return self._index.near(serial_key=report.serial_key, maker_key=report.maker_key)

    def _record_on(self, report: FieldReport) -> CredentialRecord:
        credentials = self._rules.on(report.tested_on).credentials
        return replace(
            self._record,
            calibration_months=credentials.gauge_months,
            calibration_citation=credentials.citation,
        )
