"""Judging: the readings of one part of a field test held against a method's limits, exactly."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Context, Decimal

from registry.domain.kinds import AssemblyType
from reports.domain.doubts import contradictions, doubts
from reports.domain.limits import (
    BODIES,
    DETECTORS,
    Body,
    Criterion,
    Family,
    Limits,
    Rule,
    limit_in,
)
from reports.domain.readings import Reading, ReadingName, Unit, Word
from reports.domain.verdicts import Judged, Outcome, Verdict
from reports.domain.wording import failing_reason, missing_reason

_EXACT = Context(prec=120)
"""Wide enough that no difference of two readings is ever rounded."""


_RECORDED = frozenset(name.value for name in ReadingName)


@dataclass(frozen=True, kw_only=True)
class PartReadings:
    """What one part of a test recorded: the type tested, the gauge's unit, the readings."""

    assembly_type: AssemblyType
    unit: Unit
    readings: Mapping[ReadingName, Reading]

    def get(self, name: ReadingName) -> Reading:
        """The reading, or None where it was not recorded."""
        return self.readings.get(name)


def judge(limits: Limits, test: PartReadings) -> Verdict:
    """The verdict on one part of a test, before any rounding.

    Refused: a type the method has no limits for. Else incomplete where shutoff valve 2 leaks
    and no-flow was not shown: the readings do not count (EPA 816-R-03-002, ch. 5). Else fail if
    any criterion is not met, else incomplete if a required one is blank, else pass.

    An RP read 2.4 / 5.0 / tight passes the USC manual's 10th edition (5.0 and above 2.4) and
    fails its 9th (5.0 - 2.4 = 2.6, below 3.0).
    """
    bodies = BODIES.get(test.assembly_type, ())
    if not bodies or any(not limits.judges(family) for _, family in bodies):
        return _no_limits(limits, test.assembly_type)
    told = _told(test)
    try:
        criteria = tuple(_judged_bodies(limits, told))
    except ValueError as error:
        return refusal(str(error))
    is_judged = bool(limits.of(Family.DETECTOR))
    warnings = (*contradictions(test), *doubts(told, meter_is_judged=is_judged))
    if test.get(ReadingName.SHUTOFF2_TIGHT) is Word.NO:
        return _uncounted(criteria, warnings=warnings)
    return _weighed(criteria, unit=test.unit, warnings=warnings)


def refusal(*reasons: str) -> Verdict:
    """The verdict on what could not be judged at all."""
    return Verdict(outcome=Outcome.REFUSED, reasons=reasons)


def _no_limits(limits: Limits, assembly_type: AssemblyType) -> Verdict:
    why = [limits.absent.get(family, "") for _, family in BODIES.get(assembly_type, ())]
    told = "; ".join(dict.fromkeys(one for one in why if one))
    tail = f": {told}" if told else ""
    return refusal(f"{limits.name} has no limits for the type {assembly_type}{tail}")


def _told(test: PartReadings) -> PartReadings:
    """The same readings with a "not tight" said where its criterion looks for it.

    Only check 2 of an RP has tightness as a criterion of its own. Elsewhere a check recorded as
    not tight has leaked, whatever figure stands beside it. The words "leaked" and "closed
    tight" in the figure of check 2 say the same as its tightness.
    """
    readings = dict(test.readings)
    if readings.get(ReadingName.CHECK1_TIGHT) is Word.NO:
        readings[ReadingName.CHECK1] = Word.LEAKED
    for figure, tight in (
        (ReadingName.CHECK2, ReadingName.CHECK2_TIGHT),
        (ReadingName.BYPASS_CHECK2, ReadingName.BYPASS_CHECK2_TIGHT),
    ):
        if readings.get(figure) is Word.LEAKED:
            readings[tight] = Word.LEAKED
        elif readings.get(figure) is Word.CLOSED_TIGHT and readings.get(tight) is None:
            readings[tight] = Word.CLOSED_TIGHT
        elif readings.get(tight) is Word.NO and not _has_relief(test.assembly_type):
            readings[figure] = Word.LEAKED
    return PartReadings(assembly_type=test.assembly_type, unit=test.unit, readings=readings)


def _has_relief(assembly_type: AssemblyType) -> bool:
    return assembly_type in {AssemblyType.RP, AssemblyType.RPDA, AssemblyType.RPDA_II}


def _judged_bodies(limits: Limits, test: PartReadings) -> Iterator[Judged]:
    for body, family in BODIES[test.assembly_type]:
        prefix = "bypass_" if body is Body.BYPASS else ""
        for criterion in limits.of(family):
            if not criterion.required and f"{prefix}{criterion.reading}" not in _RECORDED:
                continue  # no report has room for it: the tightness of a bypass's check 1
            judged = _judged(limits, criterion, test=test, prefix=prefix)
            if judged.required or judged.reading is not None:
                yield judged
    if test.assembly_type in DETECTORS:
        for criterion in limits.of(Family.DETECTOR):
            yield _judged(limits, criterion, test=test, prefix="")


def _judged(limits: Limits, criterion: Criterion, *, test: PartReadings, prefix: str) -> Judged:
    reading = test.get(_named(prefix, criterion.reading))
    other = test.get(_named(prefix, criterion.other)) if criterion.other else None
    limit: Decimal | None = None
    if criterion.limit is not None:
        limit = limit_in(test.unit, limit=criterion.limit, limits=limits)
    if criterion.rule is Rule.ABOVE_OTHER:
        limit = other if isinstance(other, Decimal) else None
    if criterion.rule is Rule.DIFFERENCE_AT_LEAST:
        reading = _difference(reading, other)
    return Judged(
        name=prefix + criterion.name,
        reading=reading,
        limit=limit,
        met=_met(criterion.rule, reading=reading, limit=limit),
        margin=_margin(reading, limit),
        required=criterion.required and not _is_enough(criterion.rule, reading=reading),
        citation=criterion.source,
    )


def _is_enough(rule: Rule, *, reading: Reading) -> bool:
    """Whether a figure that is only to be written down stands there."""
    return rule is Rule.RECORDED and isinstance(reading, Decimal)


def _named(prefix: str, name: ReadingName) -> ReadingName:
    return ReadingName(prefix + name.value)


def _difference(reading: Reading, other: Reading) -> Reading:
    if reading is Word.LEAKED:
        return reading
    if isinstance(reading, Decimal) and isinstance(other, Decimal):
        return _EXACT.subtract(reading, other)
    return None


def _met(rule: Rule, *, reading: Reading, limit: Decimal | None) -> bool | None:
    if isinstance(reading, Decimal):
        if limit is None:
            return None
        return reading > limit if rule is Rule.ABOVE_OTHER else reading >= limit
    if rule is Rule.YES:
        return {Word.YES: True, Word.CLOSED_TIGHT: True, None: None}.get(reading, False)
    if reading in {Word.LEAKED, Word.DID_NOT_OPEN}:
        return False
    return None


def _margin(reading: Reading, limit: Decimal | None) -> Decimal | None:
    if isinstance(reading, Decimal) and limit is not None:
        return _EXACT.subtract(reading, limit)
    return None


def _uncounted(criteria: tuple[Judged, ...], *, warnings: tuple[str, ...]) -> Verdict:
    blank = tuple(replace(judged, met=None, margin=None) for judged in criteria)
    reason = (
        "Shutoff valve 2 leaks and no-flow was not shown: the readings do not count"
        " (EPA 816-R-03-002, ch. 5). Close the valves downstream or fit a compensating hose,"
        " or have the valve repaired, and test again."
    )
    return Verdict(outcome=Outcome.INCOMPLETE, criteria=blank, reasons=(reason,), warnings=warnings)


def _weighed(criteria: tuple[Judged, ...], *, unit: Unit, warnings: tuple[str, ...]) -> Verdict:
    failing = [judged for judged in criteria if judged.met is False]
    missing = [judged for judged in criteria if judged.met is None and judged.required]
    reasons = [failing_reason(judged, unit=unit) for judged in failing]
    reasons += [missing_reason(judged) for judged in missing]
    if failing:
        outcome = Outcome.FAIL
    elif missing:
        outcome = Outcome.INCOMPLETE
    else:
        outcome = Outcome.PASS
        reasons = ["Every criterion is met."]
    return Verdict(outcome=outcome, criteria=criteria, reasons=tuple(reasons), warnings=warnings)
