"""Whether a test counts, apart from how it turned out: tester and gauge on the day, by the record.

Only the program's own record decides; what a report says of itself is compared with it and
warned where it differs. An expired tester's test does not count (Utah R309-305); a test dated
more than twelve months after the calibration, or before it, does not count (WAC 246-292-034(5)
for the annual check; the months are the rulebook's).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from dateutil.relativedelta import relativedelta

from registry.domain.identity import folded, serial_key
from registry.domain.kinds import AssemblyType
from reports.domain.classes import covers
from reports.domain.measured import was_measured
from reports.domain.report_rows import FieldReport


@dataclass(frozen=True, kw_only=True)
class Term:
    """Days from `first` to `last`, both counted; no `last` means that no end is set."""

    first: date
    last: date | None
    classes: str = ""

    def covers(self, assembly_type: AssemblyType | None) -> bool:
        """Whether its classes cover a type; of an unknown type nothing is said."""
        return assembly_type is None or covers(self.classes, assembly_type=assembly_type)

    def holds(self, day: date) -> bool:
        """Whether the day lies in the term."""
        return self.first <= day and (self.last is None or day <= self.last)


@dataclass(frozen=True, kw_only=True)
class KnownTester:
    """A tester the program has accepted: the certificate's terms, and the acceptance's."""

    tester_id: int
    firm_id: int
    certificate: str
    name: str
    terms: tuple[Term, ...]
    accepted: tuple[Term, ...]
    firm_accepted: tuple[Term, ...]


@dataclass(frozen=True, kw_only=True)
class KnownGauge:
    """A gauge the program has accepted, with every calibration it knows of."""

    gauge_id: int
    firm_id: int
    serial: str
    calibrated_on: tuple[date, ...]
    accepted: tuple[Term, ...]


@dataclass(frozen=True, kw_only=True)
class CredentialRecord:
    """The program's record: testers by certificate, gauges by serial, as they are compared."""

    testers: Mapping[str, Sequence[KnownTester]]
    gauges: Mapping[str, Sequence[KnownGauge]]
    calibration_months: int
    calibration_citation: str


@dataclass(kw_only=True)
class Admissibility:
    """What the record says of a report: `reasons` keep it from counting, `warnings` do not."""

    tester_id: int | None = None
    gauge_id: int | None = None
    reasons: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    @property
    def counts(self) -> bool:
        """Whether tester and gauge were valid on the day of the test."""
        return not self.reasons


def admissibility(
    *,
    report: FieldReport,
    record: CredentialRecord,
    assembly_type: AssemblyType | None = None,
) -> Admissibility:
    """Hold a report's tester and gauge against the program's record on the day of the test.

    A certificate that ended on 31 March 2026 does not back a test of 1 April; a gauge calibrated
    on 15 January 2025 backs tests up to 15 January 2026. Classes that name other types do not
    back the test either. A visit on which nothing was measured needs no gauge.
    """
    found = Admissibility()
    tester = _tester(report, record=record, found=found)
    if tester is not None:
        _classes(tester, day=report.tested_on, assembly_type=assembly_type, found=found)
    if not was_measured(report) and report.visit.cause is not None:
        return found
    gauge = _gauge(report, record=record, tester=tester, found=found)
    if tester and gauge and tester.firm_id != gauge.firm_id:
        found.warnings.append(
            f"gauge {gauge.serial} belongs to another testing company than tester"
            f" {tester.certificate}"
        )
    return found


def _tester(
    report: FieldReport, *, record: CredentialRecord, found: Admissibility
) -> KnownTester | None:
    if not report.certificate:
        found.reasons.append("No certificate number on the report: the tester is not verified.")
        return None
    known = record.testers.get(serial_key(report.certificate), ())
    if not known:
        found.reasons.append(
            f"Tester {report.certificate} is known only from the report: not verified. Record the"
            " certificate, then send the report again."
        )
        return None
    day = report.tested_on
    tester = next((one for one in known if _tester_reason(one, day=day) is None), known[0])
    found.tester_id = tester.tester_id
    reason = _tester_reason(tester, day=day)
    if reason:
        found.reasons.append(reason)
    _compare_tester(report, tester=tester, found=found)
    return tester


def _tester_reason(tester: KnownTester, *, day: date) -> str | None:
    if not any(term.holds(day) for term in tester.terms):
        return _no_term(tester, day=day)
    if not any(term.holds(day) for term in tester.accepted):
        return f"Tester {tester.certificate} was not accepted by the program on {day}."
    if not any(term.holds(day) for term in tester.firm_accepted):
        return (
            f"The testing company of tester {tester.certificate} was not accepted by the program"
            f" on {day}."
        )
    return None


def _classes(
    tester: KnownTester, *, day: date, assembly_type: AssemblyType | None, found: Admissibility
) -> None:
    terms = [term for term in tester.terms if term.holds(day)]
    if not terms or any(term.covers(assembly_type) for term in terms):
        return
    said = "; ".join(dict.fromkeys(term.classes for term in terms))
    found.reasons.append(
        f"The certificate {tester.certificate} covers {said} on {day}, and this is a"
        f" {assembly_type}. Record the class, or have another tester test it."
    )


def _no_term(tester: KnownTester, *, day: date) -> str:
    ended = [term.last for term in tester.terms if term.last and term.last < day]
    if ended:
        return (
            f"The certificate {tester.certificate} ended on {max(ended)}, before the test of"
            f" {day}. Record a newer term, or have a certified tester test again."
        )
    if tester.terms:
        first = min(term.first for term in tester.terms)
        return f"The certificate {tester.certificate} began on {first}, after the test of {day}."
    return f"No term of the certificate {tester.certificate} is on record: not verified."


def _compare_tester(report: FieldReport, *, tester: KnownTester, found: Admissibility) -> None:
    ends = {term.last for term in tester.terms}
    if report.certificate_ends_on and report.certificate_ends_on not in ends:
        on_record = ", ".join(sorted(str(end) for end in ends if end)) or "no end"
        found.warnings.append(
            f"the report says that certificate {tester.certificate} ends on"
            f" {report.certificate_ends_on}, the record {on_record}: the record decides"
        )
    if report.tester_name and tester.name and folded(report.tester_name) != folded(tester.name):
        found.warnings.append(
            f"the report names {report.tester_name}, the record {tester.name} for certificate"
            f" {tester.certificate}"
        )


def _gauge(
    report: FieldReport,
    *,
    record: CredentialRecord,
    tester: KnownTester | None,
    found: Admissibility,
) -> KnownGauge | None:
    if not report.gauge_serial:
        found.reasons.append("No gauge serial on the report: the gauge is not verified.")
        return None
    known = record.gauges.get(serial_key(report.gauge_serial), ())
    if not known:
        found.reasons.append(
            f"Gauge {report.gauge_serial} is known only from the report: not verified. Record it"
            " with its calibrations, then send the report again."
        )
        return None
    gauge = next((one for one in known if tester and one.firm_id == tester.firm_id), known[0])
    found.gauge_id = gauge.gauge_id
    day = report.tested_on
    if not any(term.holds(day) for term in gauge.accepted):
        found.reasons.append(f"Gauge {gauge.serial} was not accepted by the program on {day}.")
    reason = _calibration_reason(gauge, day=day, record=record)
    if reason:
        found.reasons.append(reason)
    _compare_calibration(report, gauge=gauge, found=found)
    return gauge


def _calibration_reason(gauge: KnownGauge, *, day: date, record: CredentialRecord) -> str | None:
    if not gauge.calibrated_on:
        return f"No calibration of gauge {gauge.serial} is on record: not verified."
    before = [calibrated_on for calibrated_on in gauge.calibrated_on if calibrated_on <= day]
    if not before:
        first = min(gauge.calibrated_on)
        return (
            f"Gauge {gauge.serial} is first known to be calibrated on {first}, after the test of"
            f" {day}: not verified."
        )
    months = record.calibration_months
    last_day = max(before) + relativedelta(months=months)
    if day > last_day:
        return (
            f"Gauge {gauge.serial} was calibrated on {max(before)}; that holds {months} months, to"
            f" {last_day}, and the test is of {day} ({record.calibration_citation}). Record a"
            " newer calibration, or have it tested again."
        )
    return None


def _compare_calibration(report: FieldReport, *, gauge: KnownGauge, found: Admissibility) -> None:
    said = report.gauge_calibrated_on
    before = [day for day in gauge.calibrated_on if day <= report.tested_on]
    on_record = max(before) if before else max(gauge.calibrated_on, default=None)
    if said and said != on_record:
        found.warnings.append(
            f"the report says that gauge {gauge.serial} was calibrated on {said}, the record"
            f" {on_record or 'nothing'}: the record decides"
        )
