"""What needs a person now, gravest first, each with its count, its oldest, and the act."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from django.db.models import Count, Max, Min, Q

from notices.domain.kinds import LetterState
from notices.models import Letter
from registry.models import Approval, LoadBatch, Program, Proposal, Question
from reports.models import FieldTest
from scheduling.domain.facts import FactKind
from scheduling.models import DayRun, Decision

MOST_LINES: Final = 7
LAPSES_WITHIN_DAYS: Final = 30
_REVIEWED: Final = (FactKind.IDLED, FactKind.EXEMPTED)
GAUGE_GOOD_DAYS: Final = 365  # common practice: a gauge is calibrated once a year


@dataclass(frozen=True, kw_only=True)
class Need:
    """One line of what needs a person: `page` names an address, `query` what to show there."""

    count: int
    what: str
    detail: str
    since: date | None
    act: str
    page: str
    query: str = ""


def needs_of(program: Program, *, today: date) -> list[Need]:
    """At most seven lines, by what waiting costs; what counts nothing is not listed."""
    lines: Iterable[Need | None] = (
        _orders(program),
        _waiting_letters(program),
        _doubtful_tests(program),
        *_questions(program),
        _reviews(program, today=today),
        _proposals(program),
        _returned(program),
        _not_live(program, today=today),
        _set_aside(program),
        _lapsing(program, today=today),
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


def _orders(program: Program) -> Need | None:
    found = _letters(program, is_order=True, state=LetterState.COMPOSED)
    count = sum(number for number, _ in found.values())
    if not count:
        return None
    return Need(
        count=count,
        what="Shutoff order is prepared" if count == 1 else "Shutoff orders are prepared",
        detail="None leaves without a signature.",
        since=_oldest(found),
        act="Read the evidence",
        page="letters",
        query="?state=composed&kind=shutoff-order",
    )


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


def _doubtful_tests(program: Program) -> Need | None:
    found = FieldTest.objects.filter(program=program, waits_for_person=True).aggregate(
        n=Count("pk"),
        oldest=Min("tested_on"),
        unknown=Count("pk", filter=Q(assembly__isnull=True)),
        failing=Count("pk", filter=Q(outcome="fail", assembly__isnull=False)),
    )
    if not found["n"]:
        return None
    rest = found["n"] - found["unknown"] - found["failing"]
    parts = [
        f"{found['failing']:,} fail but do not count" if found["failing"] else "",
        f"{found['unknown']:,} name no assembly of the registry" if found["unknown"] else "",
        f"{rest:,} do not count for another reason" if rest else "",
    ]
    return Need(
        count=found["n"],
        what="Field test waits for you" if found["n"] == 1 else "Field tests wait for you",
        detail="; ".join(part for part in parts if part) + ".",
        since=found["oldest"],
        act="Decide",
        page="field-tests",
        query="?waiting=yes",
    )


def _questions(program: Program) -> list[Need]:
    rows = (
        Question.objects.filter(program=program, settled_at__isnull=True)
        .values("kind")
        .annotate(n=Count("pk"), oldest=Min("raised_on"), example=Min("text"))
        .order_by("oldest", "kind")
    )
    return [
        Need(
            count=row["n"],
            what=f"{row['kind'].replace('-', ' ').replace('_', ' ').capitalize()}",
            detail=str(row["example"])[:140],
            since=row["oldest"],
            act="Answer" if row["n"] == 1 else "Answer them",
            page="questions",
            query=f"?kind={row['kind']}",
        )
        for row in rows[:3]
    ]


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


def _lapsing(program: Program, *, today: date) -> Need | None:
    """Certificates and gauges of approved testing companies that end within thirty days."""
    until = today + timedelta(days=LAPSES_WITHIN_DAYS)
    calibrated = today - timedelta(days=GAUGE_GOOD_DAYS)
    ends = (
        Approval.objects.filter(program=program, tester__isnull=False)
        .annotate(end=Max("tester__certifications__valid_to"))
        .filter(end__gte=today, end__lte=until)
    )
    gauges = (
        Approval.objects.filter(program=program, gauge__isnull=False)
        .annotate(last=Max("gauge__calibrations__calibrated_on"))
        .filter(last__gte=calibrated, last__lte=calibrated + timedelta(days=LAPSES_WITHIN_DAYS))
    )
    testers, kits = ends.count(), gauges.count()
    if not testers + kits:
        return None
    parts = [
        f"{testers:,} certificate{'s' if testers > 1 else ''}" if testers else "",
        f"{kits:,} gauge{'s' if kits > 1 else ''}, calibrated nearly a year ago" if kits else "",
    ]
    return Need(
        count=testers + kits,
        what="Lapses within 30 days" if testers + kits == 1 else "Lapse within 30 days",
        detail="; ".join(part for part in parts if part) + ".",
        since=None,
        act="Look",
        page="testers",
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
