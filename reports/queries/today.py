"""What needs a person now, gravest first, each with its count, its oldest, and the act."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from django.db.models import Count, Min

from notices.domain.kinds import LetterState
from notices.models import Letter
from registry.models import LoadBatch, Program, Proposal
from reports.domain.findings import DANGER
from reports.queries.needs import Need
from reports.queries.needs_of_letters import held_need, paper_needs
from reports.queries.needs_of_orders import order_needs
from reports.queries.needs_of_tests import (
    dangers,
    doubtful_tests,
    examples_of,
    found_in_field,
    lapsing_soon,
    questions_by_kind,
)
from reports.queries.places_list import owed_of_places
from scheduling.domain.facts import FactKind
from scheduling.models import DayRun, Decision

MOST_LINES: Final = 7
_REVIEWED: Final = (FactKind.IDLED, FactKind.EXEMPTED)


def needs_of(program: Program, *, today: date) -> list[Need]:
    """At most seven lines, by what waiting costs; what counts nothing is not listed."""
    lines: Iterable[Need | None] = (
        *dangers(program),
        held_need(program, today=today),
        *order_needs(program),
        _waiting_letters(program),
        *paper_needs(program),
        doubtful_tests(program),
        found_in_field(program),
        *_questions(program),
        _reviews(program, today=today),
        _proposals(program),
        _owed_of_places(program, today=today),
        _returned(program),
        _not_live(program, today=today),
        _set_aside(program),
        lapsing_soon(program, today=today),
    )
    return [line for line in lines if line is not None][:MOST_LINES]


def _letters(program: Program, **wanted: object) -> dict[str, tuple[int, date | None]]:
    rows = (
        Letter.objects.filter(program=program, **wanted)
        .values("kind")
        .order_by("kind")
        .annotate(n=Count("pk"), oldest=Min("composed_on"))
    )
    return {row["kind"]: (row["n"], row["oldest"]) for row in rows}


def _oldest(kinds: dict[str, tuple[int, date | None]]) -> date | None:
    days = [oldest for _, oldest in kinds.values() if oldest]
    return min(days) if days else None


def _waiting_letters(program: Program) -> Need | None:
    found = _letters(program, is_order=False, state=LetterState.COMPOSED)
    count = sum(number for number, _ in found.values())
    if not count:
        return None
    parts = [f"{number:,} {kind.replace('-', ' ')}" for kind, (number, _) in found.items()]
    return Need(
        count=count,
        what="Letter waits for release" if count == 1 else "Letters wait for release",
        detail=", ".join(parts) + ".",
        since=_oldest(found),
        act="Preview and release",
        page="letters",
        query="?state=waiting",
    )


def _questions(program: Program) -> list[Need]:
    rows = questions_by_kind(program).exclude(kind__startswith=DANGER)[:3]
    examples = examples_of(rows)
    return [
        Need(
            count=row["n"],
            what=_asked_about(row["kind"], row["n"]),
            **examples[row["first"]]._asdict(),
            since=row["oldest"],
            act="Answer" if row["n"] == 1 else "Answer them",
            page="questions",
            query=f"?kind={row['kind']}",
        )
        for row in rows
    ]


def _asked_about(kind: str, number: int) -> str:
    if kind == "facts":
        return "Fact cannot stand as it is" if number == 1 else "Facts cannot stand as they are"
    return kind.replace("-", " ").replace("_", " ").capitalize()


def _proposals(program: Program) -> Need | None:
    found = (
        Proposal.objects.filter(program=program, settled_at__isnull=True)
        .values("kind")
        .order_by("kind")
        .annotate(n=Count("pk"), oldest=Min("raised_on"))
    )
    rows = list(found)
    count = sum(row["n"] for row in rows)
    if not count:
        return None
    return Need(
        count=count,
        what="Customer file says otherwise" if count == 1 else "Customer files say otherwise",
        detail=", ".join(f"{row['n']:,} {row['kind']}" for row in rows)[:140] + ".",
        since=min(row["oldest"] for row in rows),
        act="Accept or refuse",
        page="proposals",
    )


def _reviews(program: Program, *, today: date) -> Need | None:
    """Idle times and exemptions whose day to look again has come."""
    found = Decision.objects.filter(
        program=program, ended_at__isnull=True, kind__in=_REVIEWED, until__lte=today
    ).aggregate(n=Count("pk"), oldest=Min("until"))
    if not found["n"]:
        return None
    is_one = found["n"] == 1
    return Need(
        count=found["n"],
        what="Idle time or exemption to look at again"
        if is_one
        else "Idle times and exemptions to look at again",
        detail="Its review day has come." if is_one else "Their review days have come.",
        since=found["oldest"],
        act="Look",
        page="decisions",
        query="?due=yes",
    )


def _returned(program: Program) -> Need | None:
    found = _letters(program, state=LetterState.RETURNED)
    count = sum(number for number, _ in found.values())
    if not count:
        return None
    return Need(
        count=count,
        what="Letter came back" if count == 1 else "Letters came back",
        detail="Each needs another address before its clock goes on.",
        since=_oldest(found),
        act="Find an address",
        page="letters",
        query="?state=returned",
    )


def _not_live(program: Program, *, today: date) -> Need | None:
    if program.is_trial or (program.go_live_on and program.go_live_on <= today):
        return None
    run = DayRun.objects.filter(program=program).first()
    waits = int(run.tally.get("waiting_for_quota", 0)) if run else 0
    day = program.go_live_on
    return Need(
        count=max(waits, 1),
        what="The program is not live yet",
        detail=(
            f"Nothing leaves before {day:%B} {day.day}, {day.year}."
            if day
            else "Obligations open, but no letter leaves until a go-live day is set."
        ),
        since=None,
        act="Set the day",
        page="settings",
    )


def _owed_of_places(program: Program, *, today: date) -> Need | None:
    """Surveys and protection past their day; what is not yet due is in the list of premises."""
    found = owed_of_places(program, today=today, late=True).aggregate(
        count=Count("pk"), oldest=Min("due_on")
    )
    count = found["count"]
    if not count:
        return None
    one = "Survey, or protection of a service, is past its day"
    return Need(
        count=count,
        what=one if count == 1 else "Surveys, or protection of services, are past their day",
        detail="Owed of the premises itself, not of an assembly.",
        since=found["oldest"],
        act="See which",
        page="premises-list",
        query="?late=yes",
    )


def _set_aside(program: Program) -> Need | None:
    batch = LoadBatch.objects.filter(program=program, what="registry").first()
    count = batch.set_aside.count() if batch else 0
    if not batch or not count:
        return None
    return Need(
        count=count,
        what="Row was set aside" if count == 1 else "Rows were set aside",
        detail=f"From {batch.file_name or 'the last spreadsheet'}; the others are in.",
        since=batch.as_of,
        act="See why",
        page="load-batch",
        query=str(batch.pk),
    )


@dataclass(frozen=True, kw_only=True)
class Lately:
    """Something the office or its night did, with its moment."""

    at: datetime
    words: str


def lately(program: Program) -> list[Lately]:
    """The last few runs and files brought in, newest first."""
    runs = [
        Lately(
            at=run.started_at,
            words=run.problem
            or f"Day run for {run.as_of:%B} {run.as_of.day}: "
            f"{run.tally.get('notices', 0):,} notices, {run.tally.get('letters', 0):,} letters",
        )
        for run in DayRun.objects.filter(program=program)[:5]
    ]
    batches = [
        Lately(at=batch.at, words=f"{batch.what.capitalize()} from {batch.file_name or 'a form'}")
        for batch in LoadBatch.objects.filter(program=program)[:5]
    ]
    return sorted([*runs, *batches], key=lambda one: one.at, reverse=True)[:6]
