"""Objections and appeals: the clock of letters stands until a named person has decided."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db import IntegrityError, transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.extra_letters import Wanted, write_letter
from notices.actions.sent_in_error import find_in_error
from notices.actions.stopping import restart_clocks, stop_clocks
from notices.domain.answers import Decided, Error, Outcome, decision, name_of
from notices.domain.briefs import Words
from notices.domain.extra_kinds import ExtraKind
from notices.domain.objections import ObjectionKind, decision_faults, objection_faults
from notices.domain.plain_letters import Text
from notices.models import Letter, Notice, Objection
from notices.queries.briefs import item_of, sender_of
from notices.queries.responsible import Recipient, recipient_keys, recipients
from registry.changes import Hand, record_change
from registry.models import Premises, Question
from scheduling.actions.by_hand.decisions import decide
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.facts import FactKind
from scheduling.models import Obligation
from scheduling.queries.where import WHERE, at_premises


@dataclass(frozen=True, slots=True, kw_only=True)
class Raised:
    """An objection as a person took it down."""

    kind: str
    raised_by: str
    words: str
    raised_on: date | None
    review_on: date | None
    letter: Letter | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """How it was decided, by whom by name, and why; `excused_until` exempts until a review day."""

    outcome: str
    decided_by: str
    words: str
    excused_until: date | None = None


def take_objection(premises: Premises, *, raised: Raised, day: Day, hand: Hand) -> Objection:
    """Take an objection down: nothing more leaves for the premises until it is decided.

    Raises RefusedChangeError by field, and where one is open there already.
    """
    faults = objection_faults(
        kind=raised.kind,
        raised_by=raised.raised_by,
        words=raised.words,
        raised_on=raised.raised_on,
        review_on=raised.review_on,
        today=day.on,
    )
    _refuse(faults)
    assert raised.raised_on is not None
    assert raised.review_on is not None
    try:
        with transaction.atomic():
            locked_clock(day.program)
            row = Objection.objects.create(
                program=day.program,
                premises=premises,
                letter=raised.letter,
                kind=raised.kind,
                raised_on=raised.raised_on,
                raised_by=raised.raised_by.strip()[:200],
                words=raised.words.strip()[:2000],
                review_on=raised.review_on,
                taken_by=hand.by,
                taken_at=hand.at,
            )
            told = Hand(
                by=hand.by, at=hand.at, reason=f"{row.kind.capitalize()} of {row.raised_by}"
            )
            stop_clocks(_open_at(premises), cause=row, day=day, hand=told)
            _note(row, hand=hand, before={}, after={"kind": row.kind, "by": row.raised_by})
    except IntegrityError as error:
        message = "An objection is open here already: decide that one first."
        raise RefusedChangeError(field="kind", message=message) from error
    return row


def decide_objection(
    objection_id: int, *, verdict: Verdict, day: Day, hand: Hand
) -> tuple[Objection, Letter]:
    """Decide it: upheld, earlier notices count for nothing; rejected, the clock goes on.

    A letter tells who is bound; a person releases it. Raises RefusedChangeError by field, and
    where it was decided before.
    """
    _refuse(
        decision_faults(
            outcome=verdict.outcome,
            decided_by=verdict.decided_by,
            words=verdict.words,
            excused_until=verdict.excused_until,
            today=day.on,
        )
    )
    with transaction.atomic():
        locked_clock(day.program)
        row = _undecided(objection_id, day=day)
        rows = _open_at(row.premises)
        row.outcome, row.decided_on = Outcome(verdict.outcome).value, day.on
        row.decided_by, row.decided_at = verdict.decided_by.strip()[:150], hand.at
        row.decision = verdict.words.strip()[:2000]
        row.save()
        restart_clocks(cause=row, day=day, hand=hand)
        if row.outcome == Outcome.UPHELD:
            _uphold(row, rows=rows, until=verdict.excused_until, day=day, hand=hand)
        Obligation.objects.filter(pk__in=[one.pk for one in rows], closed_on__isnull=True).update(
            next_action_on=day.on
        )
        _settle_question(row, hand=hand)
        _note(row, hand=hand, before={"outcome": ""}, after={"outcome": row.outcome})
    return row, _tell(row, rows=rows, day=day)


def _uphold(
    row: Objection, *, rows: Sequence[Obligation], until: date | None, day: Day, hand: Hand
) -> None:
    """Make the notices that left count for nothing, and excuse what is excused until a day."""
    reason = f"{row.kind.capitalize()} of {row.raised_on} upheld by {row.decided_by}."
    left = Notice.objects.filter(
        obligation__in=[one.pk for one in rows], left_on__isnull=False, is_brought_along=False
    )
    reasons = dict.fromkeys(left.values_list("pk", flat=True), reason)
    find_in_error(reasons, error=Error.RECORD, day=day, hand=hand, writes=False)
    assemblies = sorted({one.assembly_id for one in rows if one.assembly_id is not None})
    if until is None or not assemblies:
        return
    told = Told(
        kind=FactKind.EXEMPTED,
        on=day.on,
        until=until,
        reason=reason,
        approved_by=row.decided_by,
        members=tuple(str(pk) for pk in assemblies),
    )
    decide(program=day.program, told=told, chosen_by="An objection upheld", today=day.on, hand=hand)


def _tell(row: Objection, *, rows: Sequence[Obligation], day: Day) -> Letter:
    letter = row.letter
    keys = [letter.recipient_key] if letter is not None else []
    if not keys:
        keys = list(recipient_keys([row.premises_id], today=day.on).values())
    recipient: Recipient = recipients(keys)[keys[0]]
    return write_letter(
        Wanted(
            kind=ExtraKind.DECISION,
            key=f"objection:{row.pk}",
            recipient=recipient,
            text_in=_text(row, rows=rows, day=day),
        ),
        day=day,
    )


def _text(row: Objection, *, rows: Sequence[Obligation], day: Day) -> Callable[[Words], Text]:
    assert row.decided_on is not None
    decided = Decided(
        raised_on=row.raised_on,
        decided_on=row.decided_on,
        decided_by=row.decided_by,
        outcome=Outcome(row.outcome),
        words=row.decision,
        is_appeal=row.kind == ObjectionKind.APPEAL,
    )
    items = [item_of(one) for one in rows]
    still = Obligation.objects.filter(pk__in=[one.pk for one in rows], closed_on__isnull=True)
    open_ids = set(still.values_list("pk", flat=True))
    open_ones = frozenset(
        name_of(item) for item, one in zip(items, rows, strict=True) if one.pk in open_ids
    )
    sender = sender_of(day.program)

    def text_in(words: Words) -> Text:
        return decision(decided, items=items, open_ones=open_ones, sender=sender, words=words)

    return text_in


def _unclosed_at(premises: Premises) -> list[Obligation]:
    """What is open there or to come: an objection stops all of it."""
    rows = Obligation.objects.filter(at_premises([premises.pk]), closed_on__isnull=True)
    read = rows.select_related("program", "rulebook", "assembly__state", *WHERE)
    return list(read.order_by("pk"))


def _open_at(premises: Premises) -> list[Obligation]:
    return [row for row in _unclosed_at(premises) if row.opened_on is not None]


def _undecided(objection_id: int, *, day: Day) -> Objection:
    row = (
        Objection.objects.select_related("premises", "letter")
        .select_for_update(of=("self",))
        .filter(program=day.program, pk=objection_id)
        .first()
    )
    if row is None or row.decided_at is not None:
        message = "It was decided before, or there is none such."
        raise RefusedChangeError(field="outcome", message=message)
    return row


def _settle_question(row: Objection, *, hand: Hand) -> None:
    Question.objects.filter(
        program=row.program, key=f"objection:{row.pk}", settled_at__isnull=True
    ).update(settled_at=hand.at, settled_by=hand.by, answer=f"{row.outcome.capitalize()}.")


def _refuse(faults: dict[str, str]) -> None:
    for field, message in faults.items():
        raise RefusedChangeError(field=field, message=message)


def _note(
    row: Objection, *, hand: Hand, before: dict[str, object], after: dict[str, object]
) -> None:
    record_change(
        hand=hand,
        what="objection",
        subject_id=row.pk,
        label=f"{row}, {row.premises}",
        before=before,
        after=after,
        program=row.program,
    )
