"""What the next run would send, worked out by the run's own questions; nothing is written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from notices.actions.clocks import Day, refuse_past_day
from notices.actions.day import is_live_on
from notices.actions.recording import letters_left
from notices.domain.owing import LetterGroup, OwedNotice, into_letters, within_quota
from notices.queries.addressees import recipients_by_key
from notices.queries.going import going_today
from notices.queries.owed import owed_notices, positions_as_opened
from notices.queries.owed_now import owed_now
from notices.queries.pacing import leaving_day, letter_hold, why_kept_in
from notices.queries.responsible import Recipient
from registry.batches import in_batches
from registry.models import Assembly, Premises, Program
from scheduling.models import ProgramClock
from scheduling.queries.opening import ids_to_open

PAGE = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class RungCount:
    """How many letters and notices of one rung would go."""

    rung: str
    letters: int
    notices: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterLine:
    """One letter that would be composed: its rung, to whom, about what, and why."""

    rung: str
    recipient: str
    serials: tuple[str, ...]
    assembly_ids: tuple[int, ...]
    owed_on: date
    why: str
    citation: str
    needs_release: bool
    hold: str = ""


@dataclass(slots=True, kw_only=True)
class DayPreview:
    """What a run of a day would do. `lines` are in the order in which the run would write."""

    program: str
    as_of: date
    is_live: bool
    kept_in: str = ""
    """Why no letter leaves on the day, though it may be composed."""

    is_held: bool = False
    """Whether nothing is even composed: all letters are held."""

    leaves_on: date
    """The day for which its letters are composed."""

    would_open: int = 0
    notices: int = 0
    letters: int = 0
    waiting_for_quota: int = 0
    skipped: int = 0
    rungs: tuple[RungCount, ...] = ()
    lines: list[LetterLine] = field(default_factory=list)
    held: list[LetterLine] = field(default_factory=list)

    def to_json(self) -> dict[str, object]:
        """Return the object that `run_day --preview --json` prints."""
        return {
            "program": self.program,
            "as_of": self.as_of.isoformat(),
            "is_live": self.is_live,
            "kept_in": self.kept_in,
            "leaves_on": self.leaves_on.isoformat(),
            "would_open": self.would_open,
            "notices": self.notices,
            "letters": self.letters,
            "held": len(self.held),
            "waiting_for_quota": self.waiting_for_quota,
            "skipped": self.skipped,
            "rungs": [
                {"rung": one.rung, "letters": one.letters, "notices": one.notices}
                for one in self.rungs
            ],
        }


def preview_day(*, program: Program, as_of: date, now: datetime) -> DayPreview:
    """Return what a run of the day would send if the program were live; Refused as the run is.

    A day to come is allowed: what would have opened by then counts as open, by today's facts.
    """
    clock = ProgramClock.objects.filter(program=program).first()
    refuse_past_day(program, day=as_of, last_run_on=clock.last_run_on if clock else None)
    opening = sorted(ids_to_open(program=program, as_of=as_of))
    owed = _owed(program, opening=opening, as_of=as_of)
    going = going_today(owed, program=program, on=as_of).letters
    held = into_letters(notice for notice in owed if notice.hold)
    most = letters_left(Day(program=program, on=as_of, at=now))
    today, later = within_quota(going, most=most)
    said = DayPreview(
        program=program.code,
        as_of=as_of,
        is_live=is_live_on(program, day=as_of),
        kept_in=why_kept_in(program, on=as_of),
        is_held=letter_hold(program, on=as_of) is not None,
        leaves_on=leaving_day(program, on=as_of),
        would_open=len(opening),
        notices=sum(len(group.owed) for group in today),
        letters=len(today),
        waiting_for_quota=sum(len(group.owed) for group in later),
        skipped=sum(notice.skipped for group in today for notice in group.owed),
        rungs=_by_rung(today),
    )
    said.lines, said.held = _lines(today, program=program), _lines(held, program=program)
    return said


def _owed(program: Program, *, opening: Sequence[int], as_of: date) -> list[OwedNotice]:
    """What is owed of what is open, and of what the run would open first."""
    owed = owed_now(program, today=as_of)
    for batch in in_batches(opening, size=PAGE):
        owed += owed_notices(positions_as_opened(batch, today=as_of), today=as_of)
    return owed


def _by_rung(groups: Sequence[LetterGroup]) -> tuple[RungCount, ...]:
    letters = Counter(group.first.rung for group in groups)
    notices = Counter(owed.rung for group in groups for owed in group.owed)
    return tuple(
        RungCount(rung=rung, letters=count, notices=notices[rung])
        for rung, count in sorted(letters.items())
    )


def _lines(groups: Sequence[LetterGroup], *, program: Program) -> list[LetterLine]:
    keys = (group.first.recipient_key for group in groups)
    addressees = recipients_by_key(keys, program=program)
    everything = [owed for group in groups for owed in group.owed]
    serials = _serials([o.assembly_id for o in everything if o.assembly_id is not None])
    streets = _streets([o.premises_id for o in everything if o.assembly_id is None])
    return [
        LetterLine(
            rung=group.first.rung,
            recipient=_name(addressees.get(group.first.recipient_key)),
            serials=tuple(
                serials[owed.assembly_id]
                if owed.assembly_id is not None
                else f"{owed.work} at {streets[owed.premises_id]}"
                for owed in group.owed
            ),
            assembly_ids=tuple(o.assembly_id for o in group.owed if o.assembly_id is not None),
            owed_on=group.first.owed_on,
            why=_why(group.first),
            citation=group.first.citation,
            needs_release=group.first.needs_release,
            hold=group.first.hold,
        )
        for group in groups
    ]


def _name(recipient: Recipient | None) -> str:
    return recipient.mailing.name if recipient is not None else "nobody recorded yet"


def _why(owed: OwedNotice) -> str:
    key = "arithmetic"
    return owed.reasons[-1].get(key, "") if owed.reasons else ""


def _serials(assembly_ids: Sequence[int]) -> dict[int, str]:
    found: dict[int, str] = {}
    for batch in in_batches(dict.fromkeys(assembly_ids)):
        rows = Assembly.objects.filter(pk__in=batch)
        found |= dict(rows.values_list("pk", "serial"))
    return found


def _streets(premises_ids: Sequence[int]) -> dict[int, str]:
    found: dict[int, str] = {}
    for batch in in_batches(dict.fromkeys(premises_ids)):
        rows = Premises.objects.filter(pk__in=batch)
        found |= dict(rows.values_list("pk", "address"))
    return found
