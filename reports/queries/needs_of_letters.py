"""What a person must do that letters leave: print what waits, and say when a run was mailed."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Count, Min

from notices.delivery.paper_runs import waiting_paper
from notices.models import PaperRun
from registry.models import Program
from reports.queries.needs import Need


def paper_needs(program: Program) -> Iterator[Need]:
    """Letters to print and runs not mailed; none in a trial, whose letters reach nobody."""
    if program.is_trial:
        return
    waiting = waiting_paper(program).aggregate(n=Count("pk"), oldest=Min("letter__composed_on"))
    if waiting["n"]:
        yield Need(
            count=waiting["n"],
            what="Letter waits for paper" if waiting["n"] == 1 else "Letters wait for paper",
            detail="None of them has left before a run is made and mailed.",
            since=waiting["oldest"],
            act="Make a run",
            page="letter-runs",
        )
    runs = PaperRun.objects.filter(program=program, mailed_on__isnull=True)
    found = runs.aggregate(n=Count("pk"), oldest=Min("made_on"))
    if found["n"]:
        yield Need(
            count=found["n"],
            what="Paper run is not mailed" if found["n"] == 1 else "Paper runs are not mailed",
            detail="Only the day you say starts the clock of its letters.",
            since=found["oldest"],
            act="Say when",
            page="letter-runs",
        )
