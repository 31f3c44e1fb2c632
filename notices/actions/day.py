"""The run of one program's day: what opens, what is owed, what leaves.

It asks "what is owed now?" and makes that true, so it may run twice, late, after
a month off, two at once, or be killed anywhere: keys decide, never a "done" flag.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from pathlib import Path

from django.db import transaction

from notices.actions.clocks import Day, admit, locked_clock
from notices.actions.fire_lines import report_fire_lines
from notices.actions.holding import ask_about_held
from notices.actions.leaving import Progress, finish_letters
from notices.actions.nightly import look_after
from notices.actions.noting import note_owed
from notices.actions.pacing import end_past_hold
from notices.actions.recording import letters_left, record_letters
from notices.actions.withdrawing import withdraw_stale
from notices.domain.kinds import LetterState
from notices.domain.owing import LetterGroup, OwedNotice, within_quota
from notices.models import Letter
from notices.queries.going import going_today
from notices.queries.owed import Position, obligations_to_look_at, owed_notices, positions
from notices.queries.pacing import letter_hold
from registry.batches import in_batches
from registry.models import Program
from scheduling.actions.by_hand.carrying import carry_decisions
from scheduling.actions.enforcing import replay_for_new_rules
from scheduling.actions.opening import open_obligations
from scheduling.actions.standing_board import recount_daily
from scheduling.models import DayRun, Obligation

PAGE = 500
"""Obligations read at a time."""

LETTERS_AT_ONCE = 50
"""Letters recorded in one transaction."""

ROUNDS = 3
"""A letter that fell away while leaving is composed anew in the same run, but not for ever."""


@dataclass(slots=True, kw_only=True)
class DayTally:
    """What this run did; the two `waiting` are totals standing after it."""

    program: str
    as_of: date
    obligations_opened: int = 0
    notices: int = 0
    letters: int = 0
    withdrawn: int = 0
    waiting_for_release: int = 0
    waiting_for_quota: int = 0
    skipped: int = 0

    def to_json(self) -> dict[str, object]:
        """Return the object that `run_day --json` prints."""
        return {**asdict(self), "as_of": self.as_of.isoformat()}


def run_day(
    *,
    program: Program,
    as_of: date,
    now: datetime,
    out: Path | None = None,
    progress: Progress | None = None,
) -> DayTally:
    """Run the day; Refused for a day that must not be run (before the last run, or to come)."""
    tell = progress or _silent
    day = admit(program, day=as_of, now=now)
    tally = DayTally(program=program.code, as_of=as_of)
    replay_for_new_rules(
        program=program, as_of=as_of, progress=lambda done, of: tell("rules", done, of)
    )
    carry_decisions(program=program, today=as_of)
    with transaction.atomic():
        locked_clock(program)
        tally.obligations_opened = open_obligations(program=program, as_of=as_of)
    tally.withdrawn = withdraw_stale(day)
    end_past_hold(program, today=as_of)
    writes = is_live_on(program, day=as_of) and letter_hold(program, on=as_of) is None
    look_after(day, writes=writes)
    if writes:
        _write_letters(day, tally=tally, out=out, tell=tell)
    waiting = Letter.objects.filter(program=program, state=LetterState.COMPOSED)
    tally.waiting_for_release = waiting.count()
    recount_daily(program=program, on=as_of, at=day.at)
    assert day.run is not None
    DayRun.objects.filter(pk=day.run.pk).update(tally=tally.to_json(), finished_at=now)
    return tally


def is_live_on(program: Program, *, day: date) -> bool:
    """Say whether letters may go: always in a trial, else from the go-live day on."""
    return program.is_trial or (program.go_live_on is not None and program.go_live_on <= day)


def _write_letters(day: Day, *, tally: DayTally, out: Path | None, tell: Progress) -> None:
    note_owed(day)
    for _ in range(ROUNDS):
        owed = _look(day, tell=tell)
        held = [notice for notice in owed if notice.hold]
        ask_about_held(held, day=day)
        report_fire_lines(held, day=day)
        letters = going_today(owed, program=day.program, on=day.on).letters
        now, later = within_quota(letters, most=letters_left(day))
        _record(now, day=day, tally=tally, tell=tell)
        tally.waiting_for_quota = sum(len(group.owed) for group in later)
        finished = finish_letters(day, out=out, progress=tell)
        tally.withdrawn += finished.withdrawn
        if not finished.withdrawn:
            return


def _record(letters: Sequence[LetterGroup], *, day: Day, tally: DayTally, tell: Progress) -> None:
    done = 0
    for batch in in_batches(letters, size=LETTERS_AT_ONCE):
        recorded = record_letters(batch, day=day)
        tally.letters += len(recorded.letters)
        tally.notices += recorded.notices
        tally.skipped += recorded.skipped
        done += len(batch)
        tell("notices", done, len(letters))


def _look(day: Day, *, tell: Progress) -> list[OwedNotice]:
    """Read what is owed, page by page; what is not owed yet keeps its next day."""
    ids = sorted(obligations_to_look_at(day.program, today=day.on).values_list("pk", flat=True))
    owed: list[OwedNotice] = []
    done = 0
    for batch in in_batches(ids, size=PAGE):
        with transaction.atomic():
            locked_clock(day.program)
            found = positions(batch, today=day.on, lock=True)
            _keep_next_days(found, day=day)
            owed += owed_notices(found, today=day.on)
        done += len(batch)
        tell("obligations", done, len(ids))
    return owed


def _keep_next_days(found: Sequence[Position], *, day: Day) -> None:
    by_day: dict[date | None, list[int]] = {}
    for place in found:
        on = place.step.on if place.step else None
        if not place.is_owed(today=day.on) and place.row.next_action_on != on:
            by_day.setdefault(on, []).append(place.row.pk)
    for on, ids in by_day.items():
        Obligation.objects.filter(pk__in=ids).update(next_action_on=on)


def _silent(_what: str, _done: int, _of: int) -> None:
    """Say nothing."""
