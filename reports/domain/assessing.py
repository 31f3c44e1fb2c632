"""A report weighed whole: found or not, how it turned out, whether it counts, who must look."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from registry.domain.assembly_types import read_type
from registry.domain.cells import UnreadableCellError
from registry.domain.kinds import AssemblyType
from registry.domain.words import StatedResult
from reports.domain.admissibility import Admissibility, CredentialRecord, admissibility
from reports.domain.hindered import hindrance_in, visit_warnings
from reports.domain.limits import Limits
from reports.domain.measured import was_measured
from reports.domain.near_serials import KnownSerial
from reports.domain.readings import ReadingName
from reports.domain.report_rows import FieldReport
from reports.domain.two_parts import BothParts, judge_parts
from reports.domain.verdicts import Outcome
from reports.domain.visits import CAUSE_WORDS, Cause
from scheduling.domain.facts import FactKind
from scheduling.domain.rulebook import Attributes

COUNTS_AS_TOLD = "The rulebook says what such a visit counts as; the cause is kept."


@dataclass(frozen=True, kw_only=True)
class AssemblyOnRecord:
    """What the registry holds of the assembly a report names."""

    assembly_id: int
    serial: str
    maker: str
    type: AssemblyType
    installed_on: date | None = None
    removed_on: date | None = None
    attributes: Attributes | None = None


@dataclass(frozen=True, kw_only=True)
class Assessed:
    """A report with everything that is to be said of it; `parts` is None where it was not found."""

    report: FieldReport
    assembly: AssemblyOnRecord | None
    near: tuple[KnownSerial, ...]
    parts: BothParts | None
    limits: Limits
    twins: frozenset[ReadingName]
    admitted: Admissibility
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    hindrance: Cause | None = None

    @property
    def outcome(self) -> Outcome | None:
        """The report's outcome; None where the assembly was not found."""
        return self.parts.outcome if self.parts else None

    @property
    def as_found(self) -> Outcome | None:
        """The initial part's outcome; None where the assembly was not found."""
        return self.parts.initial.outcome if self.parts else None

    @property
    def counts(self) -> bool:
        """Whether it counts: assembly known, tester and gauge valid on the day by the record."""
        return self.assembly is not None and self.admitted.counts

    @property
    def fact(self) -> FactKind | None:
        """The fact it brings; None where it does not count or says nothing.

        A visit that found no test is a fact too: the rulebook says what it counts as.
        """
        if self.parts is None or not self.counts:
            return None
        return self.parts.fact or (FactKind.UNTESTABLE if self.hindrance else None)

    @property
    def waits_for_person(self) -> bool:
        """Whether somebody must decide: nothing else will move this report on.

        Not found, incomplete or refused, not counting, or tested after it was removed.
        """
        if self.assembly is None or self.parts is None:
            return True
        if self.outcome in {Outcome.INCOMPLETE, Outcome.REFUSED} or _is_after_removal(self):
            return True
        return not self.counts

    def verdict(self) -> dict[str, object]:
        """Both verdicts with what they rest on: kept, they can be worked out again."""
        parts = self.parts
        return {
            "initial": parts.initial.plain() if parts else None,
            "final": parts.final.plain() if parts and parts.final else None,
            "basis": {
                "method": self.limits.name,
                "limits_sha256": self.limits.sha256,
                "type": self.assembly.type.value if self.assembly else None,
                "asked_again": sorted(name.value for name in self.twins),
            },
        }

    def plain(self) -> dict[str, object]:
        """The report as the command prints it."""
        return {
            "row": self.report.row,
            "serial": self.report.serial,
            "found": self.assembly is not None,
            "near": list(dict.fromkeys(one.serial for one in self.near)),
            "as_found": self.as_found.value if self.as_found else None,
            "outcome": self.outcome.value if self.outcome else None,
            "counts": self.counts,
            "reasons": list(self.reasons),
            "warnings": list(self.warnings),
        }


def assess(
    *,
    report: FieldReport,
    assembly: AssemblyOnRecord | None,
    near: Sequence[KnownSerial],
    twins: frozenset[ReadingName],
    limits: Limits,
    record: CredentialRecord,
) -> Assessed:
    """Weigh one report; a test may pass and not count, and the reason is told."""
    admitted = admissibility(
        report=report, record=record, assembly_type=assembly.type if assembly else None
    )
    parts = None
    if assembly is not None:
        parts = judge_parts(
            limits,
            assembly_type=assembly.type,
            unit=report.unit,
            initial=report.initial,
            final=report.final,
            twins=twins,
            repaired=bool(report.repairs),
        )
    hindrance = hindrance_in(report, parts=parts) if parts else report.visit.cause
    reasons = _reasons(report, parts=parts, near=near, admitted=admitted, hindrance=hindrance)
    return Assessed(
        report=report,
        assembly=assembly,
        hindrance=hindrance,
        near=tuple(near),
        parts=parts,
        limits=limits,
        twins=twins,
        admitted=admitted,
        reasons=tuple(reasons),
        warnings=tuple(dict.fromkeys(_warnings(report, assembly, parts, admitted, hindrance))),
    )


def _reasons(
    report: FieldReport,
    *,
    parts: BothParts | None,
    near: Sequence[KnownSerial],
    admitted: Admissibility,
    hindrance: Cause | None,
) -> Iterator[str]:
    if parts is None:
        yield _not_found(report, near=near)
    elif admitted.reasons:
        yield _not_counting(parts)
    yield from admitted.reasons
    if hindrance is not None:
        yield f"It could not be tested: {_lower(CAUSE_WORDS[hindrance])}. {COUNTS_AS_TOLD}"
    if parts is not None and (hindrance is None or was_measured(report)):
        yield from _verdict_reasons(parts)


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def _not_counting(parts: BothParts) -> str:
    if parts.fact is FactKind.FAILED:
        return "It fails and does not count: it changes no standing and waits for a person."
    if parts.outcome is Outcome.PASS:
        return "It passes and does not count: it meets nothing that is owed."
    return "It does not count."


def _verdict_reasons(parts: BothParts) -> Iterator[str]:
    if parts.final is None:
        yield from parts.initial.reasons
        return
    if parts.initial.outcome is not Outcome.PASS:
        yield from (f"As found: {reason}" for reason in parts.initial.reasons)
    yield from (f"After repair: {reason}" for reason in parts.final.reasons)


def _not_found(report: FieldReport, *, near: Sequence[KnownSerial]) -> str:
    named = f"{report.serial} of {report.maker}" if report.maker else report.serial
    if not near:
        return f"The registry has no assembly {named}, and no serial that comes close."
    close = ", ".join(f"{one.serial} of {one.maker}" if one.maker else one.serial for one in near)
    return f"The registry has no assembly {named}. It may be {close}: see the plate."


def _warnings(
    report: FieldReport,
    assembly: AssemblyOnRecord | None,
    parts: BothParts | None,
    admitted: Admissibility,
    hindrance: Cause | None,
) -> Iterator[str]:
    yield from report.warnings
    if assembly is not None and parts is not None:
        yield from parts.initial.warnings
        yield from parts.final.warnings if parts.final else ()
        yield from _declared_warnings(report, parts=parts)
        yield from _registry_warnings(report, assembly=assembly)
        yield from visit_warnings(report, hindrance=hindrance, parts=parts)
    yield from admitted.warnings


def _declared_warnings(report: FieldReport, *, parts: BothParts) -> Iterator[str]:
    if report.declared is None or parts.outcome is Outcome.REFUSED:
        return
    agrees = {
        StatedResult.PASS: parts.outcome is Outcome.PASS,
        StatedResult.FAIL: parts.fact is FactKind.FAILED,
    }[report.declared]
    if not agrees:
        yield (
            f"the report declares {report.declared_text!r} and its readings say"
            f" {parts.outcome}: the readings decide"
        )


def _registry_warnings(report: FieldReport, *, assembly: AssemblyOnRecord) -> Iterator[str]:
    if report.stated_type:
        try:
            stated = read_type(report.stated_type)
        except UnreadableCellError:
            yield f"the type {report.stated_type!r} is not understood; the registry's is used"
        else:
            if stated is not assembly.type:
                yield (
                    f"the report says {stated}, the registry {assembly.type}: judged as"
                    f" {assembly.type}. See the plate."
                )
    if assembly.removed_on and assembly.removed_on <= report.tested_on:
        since = assembly.removed_on
        yield f"the registry has this assembly removed since {since}: a person decides"
    if assembly.installed_on and report.tested_on < assembly.installed_on:
        yield f"tested before its installation of {assembly.installed_on}: it meets nothing"


def _is_after_removal(assessed: Assessed) -> bool:
    assembly = assessed.assembly
    if assembly is None or assembly.removed_on is None:
        return False
    return assembly.removed_on <= assessed.report.tested_on
