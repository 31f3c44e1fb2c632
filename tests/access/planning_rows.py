"""Rows of what comes before a plan: a job, a wish, a company."""

from __future__ import annotations

from datetime import UTC, date, datetime

from registry.models import Premises, Program, Tester
from reports.models import Job, NotForVisit

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)


def rows_before_plans(program: Program, *, premises: Premises, tester: Tester) -> dict[str, int]:
    """A job the company was asked for, and a wish that nobody comes on one long past day."""
    job = Job.objects.create(
        program=program, premises=premises, firm=tester.firm, asked_by="O. Larch",
        asked_on=date(2026, 11, 20), recorded_at=AT, by="test",
    )  # fmt: skip
    wish = NotForVisit.objects.create(
        premises=premises, on=date(2025, 1, 6), reason="inventory", at=AT, by="test"
    )
    return {"job": job.pk, "wish": wish.pk, "firm": tester.firm_id}
