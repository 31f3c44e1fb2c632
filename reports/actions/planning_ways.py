"""How a program plans and how testers work: kept with what was before."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Firm, Program, Tester
from reports.models import PlanningRules


@transaction.atomic
def keep_planning_rules(*, program: Program, values: Mapping[str, Any], hand: Hand) -> None:
    """Keep how a program plans, each by the name of its field in :class:`PlanningRules`."""
    row = PlanningRules.objects.filter(program=program).first()
    before = {} if row is None else _plain(row, values)
    row = row or PlanningRules(program=program)
    for name, value in values.items():
        setattr(row, name, value)
    row.changed_at, row.by = hand.at, hand.by
    row.save()
    record_change(
        hand=hand,
        what="planning",
        subject_id=row.pk,
        label=program.code,
        before=before,
        after=_plain(row, values),
        program=program,
    )


@transaction.atomic
def keep_working_days(
    *, whose: Tester | Firm, values: Mapping[str, Any], program: Program, hand: Hand
) -> None:
    """Keep hours, lunch, skills and what else a tester's days are; or a company's lunch."""
    before = _plain(whose, values)
    for name, value in values.items():
        setattr(whose, name, value)
    whose.save(update_fields=list(values))
    record_change(
        hand=hand,
        what="working days",
        subject_id=whose.pk,
        label=str(whose),
        before=before,
        after=_plain(whose, values),
        program=program,
        firm=whose if isinstance(whose, Firm) else whose.firm,
    )


def _plain(row: Any, values: Mapping[str, Any]) -> dict[str, str]:
    return {name: str(getattr(row, name)) for name in values}
