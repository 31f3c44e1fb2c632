"""What replay cannot settle goes to a person: asked once, and settled when the facts change."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from registry.models import Program, Question
from scheduling.domain.ledger import Ledger
from scheduling.queries.subjects import Subject

KIND = "facts"
NO_LONGER = "No longer asked: the facts have changed."


def ask_about(
    *,
    program: Program,
    ledgers: Sequence[tuple[Subject, Ledger]],
    as_of: date,
    at: datetime,
) -> None:
    """Ask what these ledgers leave open, and settle what they no longer ask.

    A question a person settled stays settled; one settled because the facts changed is
    asked again when they change back. Three statements at most, whatever the number.
    """
    asked = {
        question.key: question
        for subject, ledger in ledgers
        for question in _questions(subject, ledger, program=program, as_of=as_of)
    }
    known = _known(program, [subject.assembly_id for subject, _ in ledgers])
    _settle(asked, known=known, at=at)


@dataclass(frozen=True, slots=True)
class AskedPlace:
    """What a premises, or a service there, leaves open."""

    premises_id: int
    what: str
    subject_id: int
    questions: Sequence[str]


def ask_of_places(
    *, program: Program, asked: Sequence[AskedPlace], as_of: date, at: datetime
) -> None:
    """Ask what premises and services leave open, as of assemblies."""
    now = {
        question.key: question
        for one in asked
        for question in _of_place(one, program=program, as_of=as_of)
    }
    rows = Question.objects.filter(
        program=program,
        kind=KIND,
        assembly__isnull=True,
        premises__in={one.premises_id for one in asked},
    )
    _settle(now, known={question.key: question for question in rows}, at=at)


def _of_place(one: AskedPlace, *, program: Program, as_of: date) -> Iterator[Question]:
    for text in one.questions:
        yield Question(
            program=program,
            key=f"{KIND}:{one.what}:{one.subject_id}:{_digest(text)}",
            kind=KIND,
            premises_id=one.premises_id,
            text=text[:500],
            raised_on=as_of,
        )


def _settle(asked: Mapping[str, Question], *, known: Mapping[str, Question], at: datetime) -> None:
    """Ask what is new, settle what is no longer asked, and ask again what has come back."""
    Question.objects.bulk_create(
        [question for key, question in asked.items() if key not in known],
        ignore_conflicts=True,
        batch_size=500,
    )
    gone = [q.pk for key, q in known.items() if key not in asked and q.settled_at is None]
    Question.objects.filter(pk__in=gone).update(settled_at=at, answer=NO_LONGER)
    back = [q.pk for key, q in known.items() if key in asked and q.answer == NO_LONGER]
    Question.objects.filter(pk__in=back).update(settled_at=None, answer="")


def _known(program: Program, assembly_ids: Sequence[int]) -> Mapping[str, Question]:
    rows = Question.objects.filter(program=program, kind=KIND, assembly__in=assembly_ids)
    return {question.key: question for question in rows}


def _questions(
    subject: Subject, ledger: Ledger, *, program: Program, as_of: date
) -> Iterator[Question]:
    for text in ledger.questions:
        yield Question(
            program=program,
            key=f"{KIND}:{subject.assembly_id}:{_digest(text)}",
            kind=KIND,
            assembly_id=subject.assembly_id,
            premises_id=subject.premises_id,
            text=text[:500],
            raised_on=as_of,
        )


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:24]
