"""An air gap measured on site: judged, and recorded as the inspection its rulebook asks for."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from registry.changes import Hand
from registry.domain.kinds import AssemblyType
from registry.models import Assembly, Program
from reports.domain.air_gaps import AirGap, MeasuredGap, judge_gap
from reports.domain.verdicts import Outcome
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.queries.rulebooks import NoRulebookError, rulebook_in_force

INSPECTION = "inspection"
SOURCE = "person"


class AirGapError(ValueError):
    """A measurement that cannot be kept; carries the field, and the message says what to do."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@transaction.atomic
def record_air_gap(
    *, assembly: Assembly, measured: AirGap, on: date, today: date, hand: Hand
) -> MeasuredGap:
    """Judge a measured air gap and record it; a gap wide enough meets its inspection.

    Raises AirGapError for another type, a day to come, or figures that measure nothing.
    """
    if assembly.type != AssemblyType.AG:
        message = f"{assembly.serial} is a {assembly.type}: only an air gap is measured."
        raise AirGapError(field="gap_in", message=message)
    if on > today:
        message = f"{on} is still to come. Write the day it was measured."
        raise AirGapError(field="measured_on", message=message)
    try:
        judged = judge_gap(measured)
    except ValueError as error:
        raise AirGapError(field="gap_in", message=f"This measures nothing: {error}.") from error
    passed = judged.outcome is Outcome.PASS
    fact = NewFact(
        assembly_id=assembly.pk,
        kind=FactKind.PASSED if passed else FactKind.FAILED,
        on=on,
        work=work_of(assembly.program, on=on),
        source=SOURCE,
        reason=hand.reason,
        detail={
            "words": judged.reason,
            "gap_in": f"{measured.gap_in:f}",
            "supply_in": f"{measured.supply_in:f}",
            "is_by_wall": measured.is_by_wall,
            "limit_in": f"{judged.limit_in:f}",
        },
    )
    record_facts(
        program=assembly.program, facts=[fact], recorded_at=hand.at, by=hand.by, today=today
    )
    replay_assemblies(program=assembly.program, assembly_ids=[assembly.pk], as_of=today)
    return judged


def work_of(program: Program, *, on: date) -> str:
    """The kind of work that meets an air gap's obligation under the rulebook of a day.

    That is *inspection*, or the one kind the rulebook has, where it knows no inspection.
    """
    try:
        book = rulebook_in_force(program=program, on=on)
    except NoRulebookError:
        return INSPECTION
    works = {work for kind in book.kinds for work in kind.met_by}
    return INSPECTION if INSPECTION in works or len(works) != 1 else works.pop()
