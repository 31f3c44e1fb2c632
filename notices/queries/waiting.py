"""What waits to be sent, in which order and why, and by which day it will be through."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from notices.actions.clocks import Day
from notices.actions.recording import letters_left
from notices.domain.owing import LetterGroup
from notices.domain.pacing import Move, through_on
from notices.queries.addressees import recipients_by_key
from notices.queries.going import Going, going_today
from notices.queries.owed_now import owed_now
from notices.queries.pacing import letter_hold
from registry.models import Premises, Program

RANKS = ("failed, high hazard", "high hazard", "low hazard")
"""What the rules put first, by the rank of an urgency."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingLine:
    """One letter that waits: its place, to whom, about what, why there, and the day it goes."""

    place: int
    rung: str
    recipient: str
    where: str
    notices: int
    why: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class RankCount:
    """How many letters stand for one reason, and the days of the first and last of them."""

    why: str
    letters: int
    first_on: date
    last_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """All that waits for its turn. `begins_on`: the first day on which any of it can go."""

    letters: int
    notices: int
    a_day: int | None
    left_today: int | None
    begins_on: date | None
    through: date | None
    ranks: tuple[RankCount, ...]
    lines: tuple[WaitingLine, ...]
    gathered: tuple[tuple[date, int], ...]
    held: int


def waiting_letters(
    program: Program, *, today: date, now: datetime, first: int = 0, most: int = 100
) -> Waiting:
    """Return what is owed and has no letter, in order; lines `first` to `first + most`.

    What becomes owed meanwhile is not counted: nobody can know it.
    """
    owed = owed_now(program, today=today)
    going = going_today(owed, program=program, on=today)
    begins = _begins(program, today=today)
    a_day, left = program.letters_a_day, letters_left(Day(program=program, on=today, at=now))
    days = _days(len(going.letters), a_day=a_day, left=left, begins=begins, today=today)
    return Waiting(
        letters=len(going.letters),
        notices=sum(len(group.owed) for group in going.letters),
        a_day=a_day,
        left_today=left,
        begins_on=begins,
        through=days[-1] if days else None,
        ranks=_ranks(going, days=days),
        lines=_lines(going, days=days, program=program, first=first, most=most),
        gathered=tuple(sorted((on, len(found)) for on, found in going.gathered.items())),
        held=sum(bool(one.hold) for one in owed),
    )


def _begins(program: Program, *, today: date) -> date | None:
    """The first day on which a letter can be composed; None where no such day is set."""
    if not program.is_trial and program.go_live_on is None:
        return None
    first = today if program.is_trial else max(today, program.go_live_on or today)
    hold = letter_hold(program, on=first)
    return hold.until_on + timedelta(days=1) if hold is not None else first


def _days(
    letters: int, *, a_day: int | None, left: int | None, begins: date | None, today: date
) -> list[date]:
    """The day of each letter: what is left of today's figure first, then so many a day."""
    if begins is None:
        return []
    if a_day is None or left is None:
        return [begins] * letters
    at_once = min(left, letters) if begins == today else 0
    after = begins + timedelta(days=1) if begins == today else begins
    rest = (through_on(place + 1, a_day=a_day, first=after) for place in range(letters - at_once))
    return [today] * at_once + list(rest)


def _ranks(going: Going, *, days: Sequence[date]) -> tuple[RankCount, ...]:
    """The parts of the order, in the order in which they come."""
    counts: Counter[str] = Counter()
    first: dict[str, int] = {}
    last: dict[str, int] = {}
    for place, group in enumerate(going.letters):
        why = _part(group, going=going)
        counts[why] += 1
        first.setdefault(why, place)
        last[why] = place
    if not days:
        return ()
    return tuple(
        RankCount(why=why, letters=counts[why], first_on=days[first[why]], last_on=days[last[why]])
        for why in counts
    )


def _part(group: LetterGroup, *, going: Going) -> str:
    move = going.moved.get(group.first.key)
    return _moved(move) if move is not None else RANKS[group.urgency.rank]


def _moved(move: Move) -> str:
    return f"moved {'forward' if move.is_forward else 'back'}: {move.group} {move.value}"


def _lines(
    going: Going, *, days: Sequence[date], program: Program, first: int, most: int
) -> tuple[WaitingLine, ...]:
    shown = going.letters[first : first + most] if days else []
    addressees = recipients_by_key((group.first.recipient_key for group in shown), program=program)
    streets = dict(
        Premises.objects.filter(pk__in=[group.first.premises_id for group in shown]).values_list(
            "pk", "address"
        )
    )
    return tuple(
        WaitingLine(
            place=first + number + 1,
            rung=group.first.rung,
            recipient=addressees[group.first.recipient_key].mailing.name,
            where=_where(group, streets=streets),
            notices=len(group.owed),
            why=_part(group, going=going),
            on=days[first + number],
        )
        for number, group in enumerate(shown)
    )


def _where(group: LetterGroup, *, streets: dict[int, str]) -> str:
    more = len({owed.premises_id for owed in group.owed}) - 1
    return streets[group.first.premises_id] + (f" and {more} more" if more else "")
