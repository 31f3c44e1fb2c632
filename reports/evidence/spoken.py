"""What was said and done around a case: contacts, objections, letters back, shutoffs, fees."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.timezone import localdate

from notices.domain.long_dates import long_date
from notices.domain.shutoffs import Proof, WorkOrderKind
from notices.models import (
    Contact,
    Fee,
    LetterAbout,
    Objection,
    OwnerWords,
    ReturnedLetter,
    Shutoff,
    ShutoffAnswer,
    WorkOrder,
)
from registry.models import Premises
from reports.domain.evidence import Event

NONE = ""


def contact_events(premises: Premises) -> Iterator[Event]:
    """Calls, visits and talks, with what was promised; those entered by mistake say so."""
    for talk in Contact.objects.filter(premises=premises).select_related("assembly"):
        who = f" with {talk.spoken_with}" if talk.spoken_with else NONE
        promise = f" Promised for {long_date(talk.promised_for)}." if talk.promised_for else NONE
        words = talk.words.rstrip(".")
        yield Event(
            on=talk.on,
            what=f"{talk.kind.capitalize()}{who}: {words}.{promise}",
            about=talk.assembly.serial if talk.assembly else NONE,
            by=talk.taken_by,
            ground=f"entered by mistake: {talk.withdrawn_reason}" if talk.withdrawn_at else NONE,
        )


def objection_events(premises: Premises) -> Iterator[Event]:
    """Objections and appeals, and how they were decided."""
    for one in Objection.objects.filter(premises=premises):
        yield Event(
            on=one.raised_on,
            what=f"{one.raised_by} raised an {one.kind}: {one.words.rstrip('.')}.",
            by=one.taken_by,
        )
        if one.decided_on is not None:
            yield Event(
                on=one.decided_on,
                what=f"The {one.kind} of {long_date(one.raised_on)} was decided: {one.outcome}.",
                by=one.decided_by,
                ground=one.decision,
            )


def returned_events(letter_ids: list[int]) -> Iterator[Event]:
    """Letters that came back, what became of that, and what recipients said on their page."""
    said = OwnerWords.objects.filter(letter__in=letter_ids).select_related("letter")
    for words in said.order_by("said_at", "pk"):
        yield Event(
            on=words.said_on,
            what=f"On the owner\u2019s page: {words.kind}. {words.words}".strip(),
            by=f"the link of letter {words.letter.number} {words.reach}".strip(),
        )
    rows = ReturnedLetter.objects.filter(letter__in=letter_ids).select_related("letter")
    for row in rows.order_by("came_back_on", "pk"):
        yield Event(
            on=row.came_back_on,
            what=f"Letter {row.letter.number} came back: {row.how}. {row.words}".strip(),
            by=row.entered_by,
            ground=row.citation,
        )
        if row.settled_on is not None:
            yield Event(
                on=row.settled_on,
                what=f"That letter {row.letter.number} came back was settled: {row.settled_how}.",
                by=row.settled_by,
                ground=row.settled_words,
            )


def answer_events(premises: Premises) -> Iterator[Event]:
    """What the fire department, or who needs the water, answered."""
    for one in ShutoffAnswer.objects.filter(premises=premises):
        until = f" It holds until {long_date(one.until)}." if one.until else NONE
        yield Event(
            on=one.said_on,
            what=f"Answer ({one.kind}), water {one.says}: {one.words.rstrip('.')}.{until}",
            by=f"{one.said_by}; written down by {one.recorded_by}",
            ground=f"struck: {one.struck_why}" if one.struck_at else NONE,
        )


_PROVED = {
    Proof.PASSED: "a test has passed",
    Proof.BOOKED: "a test is booked",
    Proof.HAZARD_GONE: "the danger is gone",
    Proof.DECISION: "the office decided so",
}


def shutoff_events(premises: Premises) -> Iterator[Event]:
    """Emergency orders, proof, and how each shutoff ended."""
    for one in Shutoff.objects.filter(premises=premises).select_related("order"):
        if one.is_emergency:
            yield Event(
                on=one.signed_on,
                what=f"An emergency order was signed: {one.reason.rstrip('.')}.",
                by=f"{one.signed_by}, {one.signed_role}",
                ground=one.citation,
            )
        if one.proved_at is not None:
            why = _PROVED[Proof(one.proof)]
            yield Event(
                on=localdate(one.proved_at),
                what=f"Water was ordered back: {why}. {one.proof_words}".strip(),
                by=one.proved_by,
                step=9,
            )
        if one.ended_on is not None:
            ended = "The shutoff ended" if one.state == "water back" else "It was called off"
            yield Event(
                on=one.ended_on, what=f"{ended}.", by=one.ended_by, ground=one.ended_why, step=11
            )


def work_events(premises: Premises) -> Iterator[Event]:
    """Work orders as they were made and as the crew brought them back."""
    rows = WorkOrder.objects.filter(shutoff__premises=premises).select_related("connection")
    for work in rows.defer("pdf").order_by("number"):
        service = work.connection.kind or "service"
        named = f"Work order {work.number} ({work.kind}, {service})"
        # Off, then what brings it back, then on again: also where all of it is one day's work.
        step = 8 if work.kind == WorkOrderKind.OFF else 10
        yield Event(
            on=localdate(work.ordered_at),
            what=f"{named} was made for {long_date(work.for_on)}.",
            by=work.ordered_by,
            ground=f"its paper: SHA-256 {work.sha256[:16]}\u2026",
            step=step,
        )
        if work.done_on is not None:
            at = f" at {work.done_time:%H:%M}" if work.done_time else NONE
            reading = f" Meter {work.reading}." if work.reading else NONE
            yield Event(
                on=work.done_on,
                what=f"{named} was carried out{at}.{reading} {work.words}".strip(),
                by=f"{work.done_by}; recorded by {work.recorded_by}",
                step=step,
            )
        if work.called_off_at is not None:
            yield Event(
                on=localdate(work.called_off_at),
                what=f"{named} was called off.",
                by=work.called_off_by,
                ground=work.called_off_why,
                step=step,
            )


def fee_events(premises: Premises) -> Iterator[Event]:
    """Fees owed, paid and waived."""
    for fee in Fee.objects.filter(premises=premises):
        yield Event(
            on=fee.owed_on,
            what=f"A fee of ${fee.amount} came to be owed: {fee.why.rstrip('.')}.",
            by=fee.recorded_by,
            ground=fee.citation,
        )
        if fee.settled_on is not None:
            yield Event(
                on=fee.settled_on,
                what=f"The fee of ${fee.amount} was {fee.state}.",
                by=fee.settled_by,
                ground=fee.settled_words,
            )


def other_letters(premises: Premises, *, obligation_ids: list[int]) -> list[int]:
    """Return the letters outside the ladders that are about this case, by their matters."""
    shutoffs = list(Shutoff.objects.filter(premises=premises).values_list("pk", flat=True))
    objections = list(Objection.objects.filter(premises=premises).values_list("pk", flat=True))
    keys = [
        *(f"water back:{pk}" for pk in shutoffs),
        *(f"emergency:{pk}" for pk in shutoffs),
        *(f"objection:{pk}" for pk in objections),
        *(f"fire line:{pk}" for pk in obligation_ids),
    ]
    rows = LetterAbout.objects.filter(program=premises.program_id, key__in=keys)
    return list(rows.values_list("letter_id", flat=True))
