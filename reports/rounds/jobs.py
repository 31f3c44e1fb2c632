"""Which due work has a job behind it: assigned by a person, or asked for by the customer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from registry.models import Firm, Program
from reports.models import Job
from scheduling.models import Obligation


def standing_jobs(*, program: Program) -> Mapping[int, tuple[Job, ...]]:
    """Jobs of each premises that nobody cancelled, newest first."""
    found: dict[int, tuple[Job, ...]] = defaultdict(tuple)
    rows = Job.objects.filter(program=program, cancelled_at__isnull=True)
    for row in rows.select_related("firm").order_by("-asked_on", "-pk"):
        found[row.premises_id] += (row,)
    return found


def firms_asked(jobs: Sequence[Job]) -> tuple[Firm, ...]:
    """The testing company that the newest job names; empty where it names none."""
    named = next(iter(jobs), None)
    return (named.firm,) if named is not None and named.firm is not None else ()


def covers(job: Job, obligation: Obligation) -> bool:
    """Whether a job speaks of what falls due then; one without a last day stands."""
    due_on = obligation.cure_by or obligation.due_on
    return job.covers_until is None or due_on <= job.covers_until


def with_a_job(
    due: Mapping[int, Sequence[Obligation]],
    *,
    assigned: Mapping[int, Sequence[Firm]],
    jobs: Mapping[int, Sequence[Job]],
) -> dict[int, Sequence[Obligation]]:
    """What of the due work may be planned: all at assigned premises, else what a job covers."""
    found: dict[int, Sequence[Obligation]] = {}
    for premises, owed in due.items():
        if assigned.get(premises):
            found[premises] = owed
            continue
        covered = [one for one in owed if any(covers(job, one) for job in jobs.get(premises, ()))]
        if covered:
            found[premises] = covered
    return found
