"""What of the letters owed goes today, in which order: the office's moves, and what is gathered."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from notices.domain.owing import LetterGroup, OwedNotice, into_letters
from notices.domain.pacing import Move, MoveBy, Traits, gathered_until, place_in_order, street_of
from notices.models import Gathering, OrderMove
from registry.batches import in_batches
from registry.domain.kinds import Hazard
from registry.models import Assembly, Premises, Program


@dataclass(slots=True)
class Going:
    """Letters that go today as far as the figure allows, in their order; what is gathered."""

    letters: list[LetterGroup]
    gathered: dict[date, list[OwedNotice]] = field(default_factory=dict)
    """Courtesy notices that wait for a day of the month, by that day."""

    moved: dict[tuple[int, str, str], Move] = field(default_factory=dict)
    """By the first notice of a letter: the move that decided its place."""


def going_today(owed: Iterable[OwedNotice], *, program: Program, on: date) -> Going:
    """Return the letters of what is owed today, in the order in which they go."""
    waiting = [notice for notice in owed if not notice.hold]
    gathered = _gathered(waiting, program=program, on=on)
    kept = {notice.key for notices in gathered.values() for notice in notices}
    letters = into_letters(notice for notice in waiting if notice.key not in kept)
    return in_order(letters, program=program, gathered=gathered)


def in_order(
    letters: Sequence[LetterGroup],
    *,
    program: Program,
    gathered: dict[date, list[OwedNotice]] | None = None,
) -> Going:
    """Return letters in the office's order: moved forward, as the rules say, moved back."""
    moves = moves_of(program)
    if not moves:
        return Going(list(letters), gathered or {})
    traits = traits_of(owed for letter in letters for owed in letter.owed)
    moved: dict[tuple[int, str, str], Move] = {}
    places: dict[int, int] = {}
    for number, letter in enumerate(letters):
        place, move = place_in_order([traits[owed.key] for owed in letter.owed], moves=moves)
        places[number] = place
        if move is not None:
            moved[letter.first.key] = move
    order = sorted(range(len(letters)), key=lambda number: (places[number], number))
    return Going([letters[number] for number in order], gathered or {}, moved)


def moves_of(program: Program) -> list[Move]:
    """Return the moves that hold in a program, the newest first."""
    rows = OrderMove.objects.filter(program=program, ended_at__isnull=True)
    return [
        Move(group=MoveBy(group), value=value, is_forward=is_forward)
        for group, value, is_forward in rows.values_list("group", "value", "is_forward")
    ]


def traits_of(owed: Iterable[OwedNotice]) -> dict[tuple[int, str, str], Traits]:
    """Return what each notice can be grouped by."""
    notices = list(owed)
    places: dict[int, tuple[str, str]] = {}
    for batch in in_batches(dict.fromkeys(one.premises_id for one in notices)):
        rows = Premises.objects.filter(pk__in=batch).values_list("pk", "address", "zip")
        places |= {pk: (address, zip_) for pk, address, zip_ in rows}
    hazards: dict[int, str] = {}
    for batch in in_batches(dict.fromkeys(one.assembly_id for one in notices if one.assembly_id)):
        hazards |= dict(Assembly.objects.filter(pk__in=batch).values_list("pk", "hazard"))
    return {one.key: _traits(one, places=places, hazards=hazards) for one in notices}


def _traits(
    one: OwedNotice, *, places: Mapping[int, tuple[str, str]], hazards: Mapping[int, str]
) -> Traits:
    address, zip_ = places[one.premises_id]
    return Traits(
        hazard=hazards.get(one.assembly_id or 0, Hazard.NOT_ASSESSED.value),
        street=street_of(address),
        zip=zip_[:5],
        kind=one.rung,
        premises=address.strip(),
    )


def _gathered(
    owed: Sequence[OwedNotice], *, program: Program, on: date
) -> dict[date, list[OwedNotice]]:
    """Courtesy notices that wait, by day; one that goes to anybody today goes to all of them."""
    courtesy = [one for one in owed if one.is_courtesy]
    days = dict(
        Gathering.objects.filter(party__program=program).values_list("party_id", "day_of_month")
        if courtesy
        else ()
    )
    if not days:
        return {}
    of_notice: defaultdict[tuple[int, str, str], list[OwedNotice]] = defaultdict(list)
    for one in courtesy:
        of_notice[one.key].append(one)
    waiting: defaultdict[date, list[OwedNotice]] = defaultdict(list)
    for notices in of_notice.values():
        until = [_waits_until(one, days=days, on=on) for one in notices]
        latest = [day for day in until if day is not None]
        if len(latest) == len(notices):
            waiting[min(latest)] += notices
    return dict(waiting)


def _waits_until(one: OwedNotice, *, days: Mapping[int, int], on: date) -> date | None:
    kind, _, number = one.recipient_key.partition(":")
    day = days.get(int(number)) if kind == "party" else None
    if day is None:
        return None
    return gathered_until(day, today=on, before=one.urgency.late_from)
