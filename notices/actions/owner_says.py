"""Takes what a recipient says on the owner's page: a question on Today, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from django.db import transaction

from notices.domain.owner_says import FOR_THE_OFFICE, LONGEST, MOST_A_DAY, OwnerSays
from notices.models import Letter, LetterNotice, OwnerWords
from registry.models import Question

KIND = "words from an owner"
DAY = timedelta(hours=24)


class Taken(StrEnum):
    """What became of a message."""

    YES = "yes"
    WAIT = "wait"  # too many from this letter's page in a day
    EMPTY = "empty"  # it says nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A message as it came; `form_key` makes a form that is sent twice one message."""

    kind: OwnerSays
    words: str
    reach: str
    language: str
    form_key: str


def take_words(letter: Letter, *, said: Said, today: date, at: datetime) -> Taken:
    """Keep the words and ask a person; the registry, the clock and the letters stay as they are.

    The letter's row is held while it counts, so that many at once count as many.
    """
    words = said.words.replace("\x00", "").strip()[:LONGEST]
    if said.kind in {OwnerSays.OTHER, OwnerSays.OBJECTION} and not words:
        return Taken.EMPTY
    with transaction.atomic():
        Letter.objects.select_for_update(of=("self",)).get(pk=letter.pk)
        mine = OwnerWords.objects.filter(letter=letter)
        if mine.filter(form_key=said.form_key[:40]).exists():
            return Taken.YES
        if mine.filter(said_at__gt=at - DAY).count() >= MOST_A_DAY:
            return Taken.WAIT
        row = OwnerWords.objects.create(
            program=letter.program,
            letter=letter,
            kind=said.kind.value,
            words=words,
            reach=said.reach.replace("\x00", "").strip()[:200],
            language=said.language[:10],
            said_on=today,
            said_at=at,
            form_key=said.form_key[:40],
        )
        row.question = _ask(row, letter=letter, today=today)
        row.save(update_fields=["question"])
    return Taken.YES


def _ask(row: OwnerWords, *, letter: Letter, today: date) -> Question:
    to = letter.address_lines[0] if letter.address_lines else "The recipient"
    reach = f" Reached by: {row.reach}." if row.reach else ""
    quoted = f": \u201c{row.words}\u201d" if row.words else "."
    told = f"{to}, letter {letter.number}, {FOR_THE_OFFICE[OwnerSays(row.kind)]}"
    room = 500 - len(reach)
    premises = (
        LetterNotice.objects.filter(letter=letter)
        .order_by("pk")
        .values_list("notice__premises_id", flat=True)
        .first()
    )
    return Question.objects.create(
        program=letter.program,
        key=f"owner:{row.pk}",
        kind=KIND,
        premises_id=premises,
        text=f"{told}{quoted}"[:room] + reach,
        detail={"letter": letter.pk, "words": row.pk},
        raised_on=today,
    )
