"""Letters that came back: what the post says decides whether the clock stands or they go again."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.stopping import stop_clocks
from notices.delivery.second_means import second_means
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import COURTESY_KINDS, LetterState
from notices.domain.returns import (
    CameBack,
    Settled,
    codes_in,
    has_left_already,
    second_channel,
)
from notices.models import Delivery, Letter, LetterNotice, ReturnedLetter
from notices.queries.holds import provision_of
from notices.queries.returned import letter_meant, obligations_of
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Question
from scheduling.domain.rules import Provision, Topic
from scheduling.models import Obligation

KIND = "returned letter"


@dataclass(slots=True)
class Entered:
    """What became of the lines: the letters entered, and each fault by its line."""

    kept: list[ReturnedLetter] = field(default_factory=list)
    faults: list[tuple[int, str]] = field(default_factory=list)


def enter_returned(
    text: str, *, how: CameBack, came_back_on: date, words: str, day: Day, hand: Hand
) -> Entered:
    """Enter letters that came back, one a line by scan, number, short code or certified number.

    Each line stands for itself: a fault keeps nothing of its line. Refused for a day to come.
    """
    if came_back_on > day.on:
        raise Refused(f"{came_back_on} is still to come: write the day on which they came back.")
    done = Entered()
    for row, line in codes_in(text):
        with transaction.atomic():
            locked_clock(day.program)
            meant = letter_meant(day.program, line=line)
            if meant.letter is None or meant.delivery is None:
                done.faults.append((row, meant.fault))
                continue
            returned = ReturnedLetter.objects.create(
                program=day.program,
                letter=meant.letter,
                delivery=meant.delivery,
                how=how.value,
                came_back_on=came_back_on,
                entered_at=hand.at,
                entered_by=hand.by,
                words=words[:500],
            )
            _take_up(returned, day=day, hand=hand)
            done.kept.append(returned)
    return done


def _take_up(returned: ReturnedLetter, *, day: Day, hand: Hand) -> None:
    letter = returned.letter
    rows = list(obligations_of(letter))
    if returned.how == CameBack.UNDELIVERABLE:
        _not_given(returned, rows=rows, day=day, hand=hand)
    elif not rows or letter.kind in COURTESY_KINDS:
        why = "A reminder: nothing follows." if rows else "Nothing is owed any more."
        settle(returned, how=Settled.GOES_ON, words=why, day=day, hand=hand)
    else:
        _by_second_means(returned, row=rows[0], day=day, hand=hand)
    record_change(
        hand=hand,
        what="returned letter",
        subject_id=returned.pk,
        label=f"{letter.number}, {letter.kind}",
        before={},
        after={"how": returned.how, "came_back_on": returned.came_back_on.isoformat()},
        program=day.program,
    )


def _not_given(returned: ReturnedLetter, *, rows: list[Obligation], day: Day, hand: Hand) -> None:
    """Nobody got it: the clock of what it asks for stands, and a person looks for an address."""
    letter = returned.letter
    if letter.state == LetterState.LEFT:
        Letter.objects.filter(pk=letter.pk).update(state=LetterState.RETURNED)
    told = Hand(by=hand.by, at=hand.at, reason=f"Letter {letter.number} came back undeliverable.")
    stop_clocks(rows, cause=returned, day=day, hand=told)
    stands = " Its clock stands." if rows else ""
    to = ", ".join(letter.address_lines[:1])
    _ask(returned, text=f"Letter {letter.number} to {to} came back undeliverable.{stands}"
         " Find another address, and send it again.", day=day)  # fmt: skip


def _by_second_means(returned: ReturnedLetter, *, row: Obligation, day: Day, hand: Hand) -> None:
    """Send it the other way the rulebook names, tonight; where it names none a person decides."""
    letter, rule = returned.letter, provision_of(row, Topic.SECOND_MEANS)
    by = rule.by if rule is not None else ()
    assert returned.delivery_id is not None
    ways = Delivery.objects.filter(letter=letter).exclude(pk=returned.delivery_id)
    left = list(ways.filter(state=DeliveryState.LEFT).values_list("channel", flat=True))
    if rule is not None and has_left_already(by, left=left):
        ReturnedLetter.objects.filter(pk=returned.pk).update(citation=rule.citation[:500])
        words = "The second means had left with it."
        settle(returned, how=Settled.SECOND_MEANS, words=words, day=day, hand=hand)
        return
    used = list(Delivery.objects.filter(letter=letter).values_list("channel", flat=True))
    channel = second_channel(by, used=used)
    if channel is not None and rule is not None:
        send_second(returned, channel=channel, rule=rule, day=day)
        return
    _ask(returned, text=f"Letter {letter.number} came back {returned.how}, and the rulebook names"
         " no other way for it. Say whether it goes again, and how; the next letter waits.",
         day=day)  # fmt: skip


def send_second(
    returned: ReturnedLetter, *, channel: str, rule: Provision | None, day: Day
) -> Delivery:
    """Make the second delivery of a letter that came back, and keep by which rule."""
    assert returned.delivery is not None
    why = f"by {returned.delivery.channel} it came back {returned.how}."
    made = second_means(returned.delivery, channel=channel, why=why, day=day)
    returned.second = made
    returned.citation = rule.citation[:500] if rule is not None else ""
    returned.save(update_fields=["second", "citation"])
    return made


def _ask(returned: ReturnedLetter, *, text: str, day: Day) -> None:
    premises = (
        LetterNotice.objects.filter(letter=returned.letter_id)
        .order_by("pk")
        .values_list("notice__premises_id", flat=True)
        .first()
    )
    Question.objects.get_or_create(
        program=day.program,
        key=f"returned:{returned.pk}",
        defaults={
            "kind": KIND,
            "premises_id": premises,
            "text": text[:500],
            "detail": {"letter": returned.letter_id, "returned": returned.pk},
            "raised_on": day.on,
        },
    )


def settle(returned: ReturnedLetter, *, how: Settled, words: str, day: Day, hand: Hand) -> None:
    """Keep what became of a letter that came back, in whose words."""
    ReturnedLetter.objects.filter(pk=returned.pk).update(
        settled_how=how.value,
        settled_on=day.on,
        settled_at=hand.at,
        settled_by=hand.by,
        settled_words=words[:500],
    )
