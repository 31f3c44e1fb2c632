"""A premises surveyed, a service connection changed, or a fact of either: kept, and what follows
worked out."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction

from registry.changes import Hand, record_change
from registry.domain.kinds import Hazard
from registry.models import Assembly, HazardAssessment, Premises, Program, ServiceConnection
from scheduling.actions.by_hand.decisions import decide
from scheduling.actions.by_hand.premises import keep_connection
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.actions.by_hand.stops import causes_to_end
from scheduling.actions.facts import FactError
from scheduling.actions.place_facts import NewPlaceFact, record_place_facts
from scheduling.actions.replaying import replay_assemblies, replay_premises
from scheduling.domain.decisions import Decision, DecisionError, Subject
from scheduling.domain.fact_checks import day_fault
from scheduling.domain.facts import FactKind
from scheduling.queries.rulebooks import NoRulebookError

SHAPE = ("kind", "has_chemicals", "runs_part_year")
"""What a rule asks about a service connection."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What somebody found at a premises on a day, and which protection it asks for, in words."""

    on: date
    hazard: Hazard
    finding: str = ""
    asks_for: str = ""


@transaction.atomic
def keep_survey(*, premises: Premises, survey: Survey, today: date, hand: Hand) -> HazardAssessment:
    """Record a survey of a premises; it meets a re-survey, and protection follows from it.

    Assemblies nobody assessed by themselves take its hazard. Raises RefusedChangeError for a
    day to come, and where no hazard was found.
    """
    if survey.on > today:
        message = f"{survey.on} is still to come. Record the survey on its day."
        raise RefusedChangeError(field="on", message=message)
    if survey.hazard is Hazard.NOT_ASSESSED:
        message = "A survey finds a hazard, high or low. Without one nothing was assessed."
        raise RefusedChangeError(field="hazard", message=message)
    row = HazardAssessment.objects.create(
        premises=premises,
        assessed_on=survey.on,
        hazard=survey.hazard,
        asks_for=survey.asks_for,
        finding=survey.finding,
        recorded_at=hand.at,
        by=hand.by,
    )
    record_change(
        hand=hand,
        what="hazardassessment",
        subject_id=row.pk,
        label=str(premises),
        before={},
        after={"assessed_on": survey.on.isoformat(), "hazard": survey.hazard.value},
        program=premises.program,
    )
    _take_the_hazard(premises)
    follow_premises(program=premises.program, premises_ids=[premises.pk], today=today)
    return row


def _take_the_hazard(premises: Premises) -> None:
    """Keep the newest finding about a premises on the assemblies that have none of their own."""
    newest = premises.assessments.filter(assembly__isnull=True).order_by("-assessed_on", "-pk")
    found = newest.first()
    if found is not None:
        rows = Assembly.objects.filter(premises=premises, assessments__isnull=True)
        rows.update(hazard=found.hazard)


@transaction.atomic
def change_service(
    *,
    premises: Premises,
    connection: ServiceConnection | None,
    values: Mapping[str, Any],
    today: date,
    hand: Hand,
    since: date | None = None,
) -> ServiceConnection:
    """Write a service connection with what it was before, and work out what follows.

    `since`: the day from which the change holds, where it is not that of the entry. Raises
    RefusedChangeError for a second of the same name.
    """
    kept = dict(values)
    if connection is not None and _differs(connection, values):
        before = _as_it_was(connection, until=hand.at, since=since)
        kept["was"] = [*connection.was, before]
    row = keep_connection(premises=premises, connection=connection, values=kept, hand=hand)
    follow_premises(program=premises.program, premises_ids=[premises.pk], today=today)
    return row


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceFact:
    """What happened to a service on a day, or was decided about what it or a premises owes."""

    kind: FactKind
    on: date
    until: date | None = None
    approved_by: str = ""


_FOR_A_TIME = frozenset({FactKind.EXTENDED, FactKind.HELD, FactKind.STOPPED, FactKind.EXEMPTED})
"""What is kept as a decision, and ended as one; the others are facts alone."""


@transaction.atomic
def keep_place_fact(
    *, of: ServiceConnection | Premises, told: PlaceFact, today: date, hand: Hand
) -> None:
    """Record it of a service or a premises with the reason in `hand`, and work out what follows.

    An extension, a hold, a stopped clock and an exemption are kept as a decision about it alone.
    Raises RefusedChangeError for a day to come or outside the calendar, for a service that is
    disconnected already, for a decision that cannot be, and for a clock restarted that a letter
    or an objection stopped.
    """
    if told.on > today or day_fault(told.on, what="on"):
        message = f"{told.on} is no day up to today. Correct the day."
        raise RefusedChangeError(field="on", message=message)
    gone = of.facts.filter(kind=FactKind.REMOVED, withdrawn_at__isnull=True).first()
    if gone is not None:
        message = f"This service was disconnected on {gone.on}. Nothing more is owed of it."
        raise RefusedChangeError(field="kind", message=message)
    if told.kind in _FOR_A_TIME:
        _decide(of, told=told, today=today, hand=hand)
        return
    site = of if isinstance(of, Premises) else of.premises
    causes = _causes(of, on=told.on) if told.kind is FactKind.RESTARTED else [""]
    detail = {"approved_by": told.approved_by} if told.approved_by else {}
    facts = [
        NewPlaceFact(
            of=_subject(of),
            kind=told.kind,
            on=told.on,
            cause=cause,
            reason=hand.reason,
            detail=detail,
        )
        for cause in causes
    ]
    for fact in record_place_facts(
        program=site.program, facts=facts, recorded_at=hand.at, by=hand.by, today=today
    ):
        record_change(
            hand=hand,
            what="fact",
            subject_id=fact.pk,
            label=f"{fact}, {of}",
            before={},
            after={"kind": fact.kind, "on": told.on.isoformat(), **detail},
            program=site.program,
        )
    follow_premises(program=site.program, premises_ids=[site.pk], today=today)


def _decide(of: ServiceConnection | Premises, *, told: PlaceFact, today: date, hand: Hand) -> None:
    site = of if isinstance(of, Premises) else of.premises
    decision = Decision(
        kind=told.kind,
        on=told.on,
        until=None if told.kind is FactKind.STOPPED else told.until,
        reason=hand.reason,
        approved_by=told.approved_by,
        members=(_subject(of).word,),
    )
    try:
        decide(
            program=site.program,
            told=decision,
            chosen_by=f"{of} alone",
            today=today,
            hand=hand,
        )
    except DecisionError as error:
        field, message = next(iter(error.faults.items()))
        raise RefusedChangeError(field=field, message=message) from error


def _subject(of: ServiceConnection | Premises) -> Subject:
    return Subject("premises" if isinstance(of, Premises) else "connection", of.pk)


def _causes(of: ServiceConnection | Premises, *, on: date) -> list[str]:
    try:
        return causes_to_end(of.facts.all(), on=on)
    except FactError as error:
        raise RefusedChangeError(field=error.field, message=error.message) from error


def _differs(connection: ServiceConnection, values: Mapping[str, Any]) -> bool:
    return any(name in values and getattr(connection, name) != values[name] for name in SHAPE)


def _as_it_was(
    connection: ServiceConnection, *, until: datetime, since: date | None
) -> dict[str, Any]:
    """Return what it was, until which moment it was known so, and the day the change holds from."""
    shape = {name: getattr(connection, name) for name in SHAPE}
    day = {} if since is None else {"since": since.isoformat()}
    return {"until": until.isoformat(), **day, **shape}


def follow_premises(*, program: Program, premises_ids: Collection[int], today: date) -> None:
    """Work out what is owed at these premises; without a rulebook nothing is.

    Their assemblies follow too, for a premises' use and hazard are theirs.
    """
    ids = list(
        Assembly.objects.filter(program=program, premises__in=premises_ids).values_list(
            "pk", flat=True
        )
    )
    try:
        if ids:
            replay_assemblies(program=program, assembly_ids=ids, as_of=today)
        replay_premises(program=program, premises_ids=premises_ids, as_of=today)
    except NoRulebookError:
        return
