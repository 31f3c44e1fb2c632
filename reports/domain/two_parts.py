"""A report's two parts: judged as found, judged after repair, and what that makes of the test."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from registry.domain.kinds import AssemblyType
from reports.domain.judging import PartReadings, judge
from reports.domain.limits import Limits
from reports.domain.readings import Reading, ReadingName, Unit
from reports.domain.verdicts import Outcome, Verdict
from scheduling.domain.facts import FactKind

_OF_THE_WHOLE = frozenset(
    {ReadingName.SHUTOFF1_TIGHT, ReadingName.SHUTOFF2_TIGHT, ReadingName.METER_MOVED}
)


@dataclass(frozen=True, kw_only=True)
class BothParts:
    """The verdicts of a report; `final` is None where nothing was repaired or read again."""

    initial: Verdict
    final: Verdict | None

    @property
    def outcome(self) -> Outcome:
        """The final part's outcome where there is one, else the initial part's."""
        return (self.final or self.initial).outcome

    @property
    def fact(self) -> FactKind | None:
        """What the report says of the assembly, if it counts.

        A failing initial part whose final part is incomplete is a failed fact; an incomplete
        part alone is no fact.
        """
        if self.outcome is Outcome.PASS:
            return FactKind.PASSED
        if self.outcome is Outcome.FAIL or self.initial.outcome is Outcome.FAIL:
            return FactKind.FAILED
        return None

    @property
    def found_failed(self) -> bool:
        """Whether the assembly failed as found."""
        return self.initial.outcome is Outcome.FAIL


def judge_parts(
    limits: Limits,
    *,
    assembly_type: AssemblyType,
    unit: Unit,
    initial: Mapping[ReadingName, Reading],
    final: Mapping[ReadingName, Reading],
    twins: frozenset[ReadingName],
    repaired: bool,
) -> BothParts:
    """Judge a report. `twins` are the readings that have a column of their own after repair.

    There is a final part where anything was read again or a repair is told.
    """

    def judged(readings: Mapping[ReadingName, Reading]) -> Verdict:
        return judge(
            limits, PartReadings(assembly_type=assembly_type, unit=unit, readings=readings)
        )

    if not final and not (repaired and twins):
        return BothParts(initial=judged(initial), final=None)
    after = readings_after_repair(initial=initial, final=final, twins=twins, repaired=repaired)
    return BothParts(initial=judged(initial), final=judged(after))


def readings_after_repair(
    *,
    initial: Mapping[ReadingName, Reading],
    final: Mapping[ReadingName, Reading],
    twins: frozenset[ReadingName],
    repaired: bool,
) -> dict[ReadingName, Reading]:
    """What stands after repair: every reading of the body that was opened is asked for again.

    A body was opened where one of its readings was taken again; where a repair is told and
    nothing was read again, both may have been. The body left shut keeps its readings as found,
    and so does every reading without a column of its own (from memory: after a repair all
    readings of the opened body are taken again).
    """
    opened = {_is_bypass(name) for name in final if name not in _OF_THE_WHOLE} or {True, False}
    after: dict[ReadingName, Reading] = {}
    for name in ReadingName:
        asked_again = name in twins and name not in _OF_THE_WHOLE and _is_bypass(name) in opened
        taken = final.get(name)
        after[name] = taken if asked_again or taken is not None else initial.get(name)
    return after


def _is_bypass(name: ReadingName) -> bool:
    return name.startswith("bypass_")
