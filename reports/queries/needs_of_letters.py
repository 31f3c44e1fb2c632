"""What a person must do that letters leave: print what waits, and say when a run was mailed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from django.db.models import Count, Min

from notices.delivery.paper_runs import waiting_paper
from notices.models import PaperRun
from notices.queries.held_deadlines import held_deadlines
from notices.queries.pacing import letter_hold
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


def held_need(program: Program, *, today: date) -> Need | None:
    """What a hold on all letters keeps in, and what of it the law asks for by a day."""
    hold = letter_hold(program, on=today)
    if hold is None:
        return None
    found = held_deadlines(program, hold=hold)
    missed = (
        f"{found.missed:,} would miss the last day the law sets. "
        if found.missed
        else "None of them would miss a last day that the law sets. "
    )
    looked = "" if found.looked_at == found.waiting else f"Of the first {found.looked_at:,}: "
    return Need(
        count=max(found.waiting, 1),
        what="Matter waits while all letters are held"
        if found.waiting == 1
        else "Matters wait while all letters are held",
        detail=f"{looked}{found.lawful:,} are steps a law asks for. {missed}"
        f"The hold ends {hold.until_on:%B} {hold.until_on.day}, {hold.until_on.year}.",
        since=hold.since_on,
        act="Look at the hold",
        page="letters-pace",
    )
