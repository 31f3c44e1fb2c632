"""A person releases letters that wait: what stands is let go, what does not is told.

No order is released here: `orders.sign_order` is the only way, and no command calls it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.leaving import how_it_left, let_go
from notices.actions.withdrawing import drop_stale
from notices.domain.kinds import LetterState
from notices.models import Letter, LetterNotice
from notices.queries.owed import Position, positions
from notices.queries.pacing import why_kept_in
from notices.queries.samples import ids_of, sample_of
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Program


@dataclass(slots=True)
class Releases:
    """The letters that left, and why the others did not, by number."""

    released: list[str] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)


def release_letters(
    *, program: Program, letter_ids: Sequence[int], by: str, at: datetime, today: date
) -> Releases:
    """Release these letters of the program; an order, or one whose cause is gone, is refused."""
    found = Releases()
    for letter_id in letter_ids:
        with transaction.atomic():
            locked_clock(program)
            letter = held_letter(program, letter_id=letter_id)
            if letter is None:
                continue
            why = _why_not(letter, day=Day(program=program, on=today, at=at))
            if why:
                found.refused[letter.number] = why
                continue
            release(letter, hand=Hand(by=by, at=at), today=today)
            found.released.append(letter.number)
    return found


MOST_OF_A_KIND = 500
"""Letters of a kind released at once; more are released by saying it again."""


def release_kind(
    *, program: Program, kind: str, seen: Collection[int], newest: int, hand: Hand, today: date
) -> Releases:
    """Release the waiting letters of a kind up to the row `newest`, after a look at a sample.

    Refused unless every letter of the sample, as it stands, was looked at. Letters with a flag
    wait for a person each by itself. At most 500 at once.
    """
    sample = sample_of(program, kind=kind, up_to=newest)
    if not sample.count:
        raise Refused("No letter of this kind waits any more.")
    missing = [one.letter.number for one in sample.letters if one.letter.pk not in seen]
    if missing:
        raise Refused(f"Look at {', '.join(missing)} too, and tick it: nothing was released.")
    ids = ids_of(sample, program=program, most=MOST_OF_A_KIND)
    done = release_letters(program=program, letter_ids=ids, by=hand.by, at=hand.at, today=today)
    record_change(
        hand=hand,
        what="release of a kind",
        subject_id=None,
        label=f"{kind}: {len(done.released):,} letters",
        before={},
        after={"looked_at": [one.letter.number for one in sample.letters]},
        program=program,
    )
    return done


def held_letter(program: Program, *, letter_id: int) -> Letter | None:
    """Return the letter, locked for this transaction; None when the program has none such."""
    return Letter.objects.select_for_update().filter(program=program, pk=letter_id).first()


def release(letter: Letter, *, hand: Hand, today: date) -> None:
    """Mark the letter released and let it go. Call it inside the clock's transaction."""
    Letter.objects.filter(pk=letter.pk).update(
        state=LetterState.RELEASED, released_at=hand.at, released_by=hand.by
    )
    day = Day(program=letter.program, on=today, at=hand.at)
    let_go([letter], day=day, how=f"{how_it_left(day)} Released by {hand.by}."[:120])
    after: dict[str, str] = {"state": str(LetterState.LEAVING)}
    if letter.program.is_trial and why_kept_in(letter.program, on=today):
        after = {"state": str(LetterState.RELEASED)}
    elif letter.program.is_trial:
        after = {"state": str(LetterState.LEFT), "left_on": today.isoformat()}
    record_change(
        hand=hand,
        what="letter",
        subject_id=letter.pk,
        label=f"{letter.number}, {letter.kind}",
        before={"state": letter.state},
        after=after,
        program=letter.program,
    )


def why_it_cannot_leave(letter: Letter, *, day: Day) -> str:
    """Return why the letter must not leave today, or nothing; drops it when its cause is gone."""
    if letter.state != LetterState.COMPOSED:
        return f"It does not wait: it is {letter.state}."
    if not hasattr(letter, "file"):
        return "It has not been drawn yet."
    if day.on < letter.composed_on:
        return f"It was composed for {letter.composed_on}."
    drop_stale(positions_of(letter, day=day), day=day)
    letter.refresh_from_db()
    return letter.ended_reason if letter.state != LetterState.COMPOSED else ""


def positions_of(letter: Letter, *, day: Day) -> list[Position]:
    """Return where the obligations of a letter stand, their rows locked."""
    carried = LetterNotice.objects.filter(letter=letter, notice__obligation__isnull=False)
    ids = carried.values_list("notice__obligation_id", flat=True)
    return positions([key for key in ids if key is not None], today=day.on, lock=True)


def _why_not(letter: Letter, *, day: Day) -> str:
    if letter.is_order:
        return "An order is released only by a person who signs it on its page."
    return why_it_cannot_leave(letter, day=day)
