"""A letter of a kind as it would be to somebody today: for looking at words, never sent."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet
from django.db.models.functions import Coalesce

from notices.domain.addresses import window_block
from notices.domain.briefs import Brief, Step
from notices.domain.kinds import LetterKind, Work
from notices.queries.briefs import item_of, languages_of, sender_of
from notices.queries.hindered import visits_without_a_test
from notices.queries.ladders import ladder_for, steps_after
from notices.queries.responsible import recipient_keys, recipients
from registry.models import Program
from scheduling.domain.obligations import Origin
from scheduling.models import Obligation
from scheduling.queries.where import WHERE

NUMBER = "preview"
CODE = "00000000"
MOST = 8
PAST_DUE = frozenset(
    {
        LetterKind.FIRST_OVERDUE,
        LetterKind.SECOND_OVERDUE,
        LetterKind.FINAL,
        LetterKind.TURN_OFF,
        LetterKind.SHUTOFF_ORDER,
    }
)
"""Letters about a day that has passed."""


@dataclass(frozen=True, slots=True)
class Case:
    """A case that a letter may be looked at with."""

    id: int
    words: str


def cases_for(program: Program, *, work: Work, kind: LetterKind, today: date) -> list[Case]:
    """Return real cases, those first that had such a letter last; at most a few.

    A case written to as overdue that got a later day since, as a failed test gives, is no
    example of being overdue.
    """
    found = _open(program, work=work)
    noticed = found.filter(notices__rung=kind)
    if kind in PAST_DUE:
        noticed = noticed.annotate(asked_by=Coalesce("cure_by", "due_on"))
        noticed = noticed.filter(asked_by__lt=today)
    rows = {row.pk: row for row in noticed.order_by("-notices__pk")[:MOST]}
    if len(rows) < MOST:
        rows |= {row.pk: row for row in found.order_by("due_on", "pk")[:MOST] if row.pk not in rows}
    return [Case(row.pk, _words(row)) for row in list(rows.values())[:MOST]]


def sample_brief(
    program: Program, *, work: Work, kind: LetterKind, today: date, case: int | None = None
) -> Brief | None:
    """Return the brief of a letter about a case of this program; None where it has none."""
    found = _open(program, work=work)
    known = cases_for(program, work=work, kind=kind, today=today) if case is None else []
    wanted = known[0].id if known else case
    row = found.filter(pk=wanted).first() if wanted is not None else None
    if row is None:
        return None
    premises = row.where.pk
    key = recipient_keys([premises], today=today)[premises]
    recipient = recipients([key])[key]
    item = item_of(row, visits=visits_without_a_test([row]))
    return Brief(
        kind=kind,
        number=NUMBER,
        code=CODE,
        leaves_on=today,
        sender=sender_of(program),
        address=window_block(recipient.mailing),
        items=(item,),
        ahead=_ahead(row, kind=kind),
        is_certified=False,
        citation=item.citation,
        **languages_of(program, recipient=recipient),
    )


def _ahead(row: Obligation, *, kind: LetterKind) -> tuple[Step, ...]:
    """What its own ladder states after such a letter; nothing where it has no such rung."""
    ladder = ladder_for(row)
    rung = next((one for one in ladder.rungs if one.words == kind), None)
    return steps_after(ladder, rung=rung.key) if rung is not None else ()


def _open(program: Program, *, work: Work) -> QuerySet[Obligation]:
    rows = Obligation.objects.filter(
        program=program, opened_on__isnull=False, closed_on__isnull=True
    ).select_related("assembly__state", "rulebook", *WHERE)
    if work is Work.TEST:
        return rows.filter(assembly__isnull=False)
    lacking = Q(origin__startswith=Origin.UNPROTECTED.value)
    rows = rows.filter(assembly__isnull=True)
    return rows.filter(lacking) if work is Work.PROTECTION else rows.exclude(lacking)


def _words(row: Obligation) -> str:
    premises = row.where
    place = premises.address or premises.name or premises.account
    return f"{row.assembly.serial}, {place}" if row.assembly is not None else place
