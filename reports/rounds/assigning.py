"""What a testing company may see follows from the plan: assignments made and taken back."""

from __future__ import annotations

from datetime import date

from registry.models import Assignment, Program
from reports.models import Stop
from reports.rounds.due_work import BY_PLAN


def assign_planned(*, program: Program, on: date) -> None:
    """Let each testing company see the premises it is to visit, and no longer what it lost.

    Only what a plan assigned is taken back, and only where no stop of that company is left.
    """
    wanted = set(
        Stop.objects.filter(program=program, cancelled_at__isnull=True, round__isnull=False)
        .values_list("round__firm_id", "premises_id")
        .distinct()
    )
    running = Assignment.objects.filter(program=program, ended_on__isnull=True)
    lost = [
        row.pk
        for row in running.filter(how=BY_PLAN)
        if (row.firm_id, row.premises_id) not in wanted
    ]
    Assignment.objects.filter(pk__in=lost).update(ended_on=on)
    held = set(running.values_list("firm_id", "premises_id"))
    Assignment.objects.bulk_create(
        Assignment(program=program, firm_id=firm, premises_id=premises, made_on=on, how=BY_PLAN)
        for firm, premises in sorted(wanted - held)
    )
