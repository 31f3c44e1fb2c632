"""What was said, returned and objected at a premises, newest first, as one list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from notices.domain.contacts import PromiseState, promise_state
from notices.models import Contact, Objection, OwnerWords, ReturnedLetter
from registry.models import Premises
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

MOST: Final = 300
VISITS: Final = (FactKind.PASSED.value, FactKind.FAILED.value, FactKind.UNTESTABLE.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """One line of a premises' story: the day, what it was, with whom, the words, who wrote it."""

    on: date
    at: datetime
    what: str
    words: str
    who: str = ""
    by: str = ""
    letter_id: int | None = None
    letter: str = ""
    promise: str = ""
    promised_for: date | None = None
    contact_id: int | None = None
    is_withdrawn: bool = False
    why_withdrawn: str = ""


def happenings(premises: Premises, *, today: date) -> list[Happening]:
    """Return everything people said about a premises, newest first; five queries."""
    found = [
        *_contacts(premises, today=today),
        *_objections(premises),
        *_returned(premises),
        *_owner_words(premises),
    ]
    return sorted(found, key=lambda one: (one.on, one.at), reverse=True)[:MOST]


def _contacts(premises: Premises, *, today: date) -> list[Happening]:
    rows = list(
        Contact.objects.filter(premises=premises).select_related("letter", "assembly")[:MOST]
    )
    visits = _visits(premises) if any(row.promised_for for row in rows) else ()
    return [_contact(row, visits=visits, today=today) for row in rows]


def _contact(row: Contact, *, visits: Sequence[tuple[int, date]], today: date) -> Happening:
    promise = ""
    if row.promised_for is not None and row.withdrawn_at is None:
        days = [on for pk, on in visits if row.assembly_id in (None, pk)]
        promise = promise_state(
            said_on=row.on, promised_for=row.promised_for, visits=days, today=today
        ).value
    about = f" about {row.assembly.serial}" if row.assembly is not None else ""
    return Happening(
        on=row.on,
        at=row.taken_at,
        what=f"{row.kind}{about}",
        words=row.words,
        who=row.spoken_with,
        by=row.taken_by,
        letter_id=row.letter_id,
        letter=row.letter.number if row.letter is not None else "",
        promise=promise,
        promised_for=row.promised_for,
        contact_id=row.pk,
        is_withdrawn=row.withdrawn_at is not None,
        why_withdrawn=row.withdrawn_reason,
    )


def _visits(premises: Premises) -> list[tuple[int, date]]:
    rows = Fact.objects.filter(
        assembly__premises=premises, kind__in=VISITS, withdrawn_at__isnull=True
    )
    return [(pk, on) for pk, on in rows.values_list("assembly_id", "on") if pk is not None]


def _objections(premises: Premises) -> list[Happening]:
    found = []
    rows = Objection.objects.filter(premises=premises).select_related("letter")
    for row in rows[:MOST]:
        number = row.letter.number if row.letter is not None else ""
        found.append(
            Happening(
                on=row.raised_on, at=row.taken_at, what=row.kind, words=row.words,
                who=row.raised_by, by=row.taken_by, letter_id=row.letter_id, letter=number,
            )
        )  # fmt: skip
        if row.decided_on is not None and row.decided_at is not None:
            found.append(
                Happening(
                    on=row.decided_on, at=row.decided_at, what=f"{row.kind} {row.outcome}",
                    words=row.decision, by=row.decided_by,
                )
            )  # fmt: skip
    return found


def _returned(premises: Premises) -> list[Happening]:
    rows = (
        ReturnedLetter.objects.filter(letter__carried__notice__premises=premises)
        .select_related("letter", "second")
        .distinct()
    )
    return [
        Happening(
            on=row.came_back_on,
            at=row.entered_at,
            what=f"letter came back, {row.how}",
            words=" ".join(filter(None, [row.words, what_became(row)])),
            by=row.entered_by,
            letter_id=row.letter_id,
            letter=row.letter.number,
        )
        for row in rows[:MOST]
    ]


def what_became(row: ReturnedLetter) -> str:
    """Say what became of a letter that came back, in a sentence."""
    if row.second is not None:
        left = f"left {row.second.left_on}" if row.second.left_on else "has not left yet"
        return f"It goes again by {row.second.channel}: {left}."
    if row.settled_at is None:
        return "Nobody has settled it yet."
    return f"{row.settled_how.capitalize()}, {row.settled_by}: {row.settled_words}".rstrip(": ")


def _owner_words(premises: Premises) -> list[Happening]:
    rows = (
        OwnerWords.objects.filter(letter__carried__notice__premises=premises)
        .select_related("letter")
        .distinct()
    )
    return [
        Happening(
            on=row.said_on,
            at=row.said_at,
            what=f"on the owner\u2019s page: {row.kind}",
            words=row.words,
            who=row.reach,
            letter_id=row.letter_id,
            letter=row.letter.number,
        )
        for row in rows[:MOST]
    ]


def open_objection(premises: Premises) -> Objection | None:
    """Return the objection at a premises that waits for its decision, if one does."""
    return Objection.objects.filter(premises=premises, decided_at__isnull=True).first()


__all__ = ["Happening", "PromiseState", "happenings", "open_objection", "what_became"]
