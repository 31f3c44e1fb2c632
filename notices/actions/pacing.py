"""An office paces its letters: holds them all, keeps days quiet, moves groups, gathers."""

from __future__ import annotations

from datetime import date, timedelta

from django.db import transaction

from notices.actions.clocks import locked_clock
from notices.domain.pacing import LAST_DAY_OF_EVERY_MONTH, LONGEST_HOLD, MoveBy
from notices.models import Gathering, LetterHold, OrderMove, QuietDays
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Party, Program

LONGEST_QUIET = timedelta(days=31)
"""Longer is no quiet time but a hold, which has a person and a reason on every page."""

BY_ITSELF = "the day that came"


def hold_all_letters(*, program: Program, until: date, today: date, hand: Hand) -> LetterHold:
    """Hold every letter of the program up to and with a day. Refused without reason or end."""
    if not hand.reason.strip():
        raise Refused("Say why all letters are held: the reason stands on every page.")
    if not today <= until <= today + LONGEST_HOLD:
        raise Refused(
            f"Letters are held up to a day from {today} to {today + LONGEST_HOLD}; {until} is not."
        )
    with transaction.atomic():
        locked_clock(program)
        end_past_hold(program, today=today)
        standing = LetterHold.objects.filter(program=program, ended_on__isnull=True).first()
        if standing is not None:
            raise Refused(
                f"All letters are held already, up to and with {standing.until_on}. "
                "End that hold, then make another."
            )
        made = LetterHold.objects.create(
            program=program,
            since_on=today,
            until_on=until,
            reason=hand.reason.strip()[:500],
            made_by=hand.by,
            made_at=hand.at,
        )
        _keep_with_program(program, until=until)
        _record(program, made.pk, "letter hold", "all letters", hand=hand, after=_dates(made))
    return made


def end_hold(*, program: Program, today: date, hand: Hand) -> None:
    """End the hold of all letters now: the next run sends what is owed. Refused without one."""
    with transaction.atomic():
        locked_clock(program)
        changed = LetterHold.objects.filter(
            program=program, ended_on__isnull=True, until_on__gte=today
        ).update(ended_on=today, ended_by=hand.by)
        if not changed:
            raise Refused("No letters are held.")
        _keep_with_program(program, until=None)
        _record(
            program, None, "letter hold", "all letters", hand=hand,
            after={"ended_on": today.isoformat()},
        )  # fmt: skip


def end_past_hold(program: Program, *, today: date) -> None:
    """Mark a hold whose last day has passed as ended; it held nothing since, marked or not."""
    past = LetterHold.objects.filter(program=program, ended_on__isnull=True, until_on__lt=today)
    for hold in past:
        LetterHold.objects.filter(pk=hold.pk, ended_on__isnull=True).update(
            ended_on=hold.until_on + timedelta(days=1), ended_by=BY_ITSELF
        )


def keep_quiet(*, program: Program, first: date, last: date, why: str, hand: Hand) -> QuietDays:
    """Keep days on which no letter leaves. Refused where they are too many or end before."""
    if not why.strip():
        raise Refused("Say what the days are, such as a holiday of the office.")
    if not first <= last <= first + LONGEST_QUIET:
        raise Refused(
            f"Quiet days run from one day to the same or a later one, at most "
            f"{LONGEST_QUIET.days + 1} days; {first} to {last} does not."
        )
    with transaction.atomic():
        made, is_new = QuietDays.objects.get_or_create(
            program=program,
            from_on=first,
            to_on=last,
            defaults={"why": why.strip()[:200], "made_by": hand.by, "made_at": hand.at},
        )
        if is_new:
            after = {"from": first.isoformat(), "to": last.isoformat(), "why": made.why}
            _record(program, made.pk, "quiet days", str(made), hand=hand, after=after)
    return made


def drop_quiet(*, program: Program, pk: int, hand: Hand) -> None:
    """Take quiet days away: letters leave on them again."""
    with transaction.atomic():
        found = QuietDays.objects.select_for_update().filter(program=program, pk=pk).first()
        if found is None:
            raise Refused("These quiet days were taken away before.")
        before = {"from": found.from_on.isoformat(), "to": found.to_on.isoformat()}
        label = str(found)
        found.delete()
        _record(program, pk, "quiet days", label, hand=hand, before=before)


def move_group(
    *, program: Program, group: MoveBy, value: str, is_forward: bool, hand: Hand
) -> OrderMove:
    """Move a group of letters before all others, or after them. Refused without a reason."""
    named = " ".join(value.split())[:200]
    if not named:
        raise Refused(f"Name the {group} whose letters are to be moved.")
    if not hand.reason.strip():
        raise Refused("Say why: the reason stands beside the order.")
    with transaction.atomic():
        locked_clock(program)
        _end_moves(program, hand=hand, group=group.value, value__iexact=named)
        made = OrderMove.objects.create(
            program=program,
            group=group,
            value=named,
            is_forward=is_forward,
            reason=hand.reason.strip()[:500],
            made_by=hand.by,
            made_at=hand.at,
        )
        after = {"moved": "forward" if is_forward else "back"}
        _record(program, made.pk, "order of letters", str(made), hand=hand, after=after)
    return made


def take_move_back(*, program: Program, pk: int, hand: Hand) -> None:
    """Let a moved group stand where the rules put it. Refused where it does already."""
    with transaction.atomic():
        locked_clock(program)
        if not _end_moves(program, hand=hand, pk=pk):
            raise Refused("This move was taken back before.")
        _record(program, pk, "order of letters", "move taken back", hand=hand, after={"moved": ""})


def gather_monthly(*, party: Party, day_of_month: int | None, hand: Hand) -> None:
    """Gather a recipient's courtesy letters on a day of the month; None: each on its own day."""
    if day_of_month is not None and not 1 <= day_of_month <= LAST_DAY_OF_EVERY_MONTH:
        raise Refused("Choose a day from 1 to 28: every month has those.")
    with transaction.atomic():
        before = Gathering.objects.filter(party=party).first()
        if day_of_month is None:
            Gathering.objects.filter(party=party).delete()
        else:
            Gathering.objects.update_or_create(
                party=party,
                defaults={"day_of_month": day_of_month, "set_by": hand.by, "set_at": hand.at},
            )
        record_change(
            hand=hand,
            what="gathering of letters",
            subject_id=party.pk,
            label=party.name,
            before={"day_of_month": before.day_of_month if before else None},
            after={"day_of_month": day_of_month},
            program=party.program,
        )


def _keep_with_program(program: Program, *, until: date | None) -> None:
    """Every page has the program at hand: its head asks for the hold only where there is one."""
    program.letters_held_until = until
    program.save(update_fields=["letters_held_until"])


def _end_moves(program: Program, *, hand: Hand, **which: object) -> int:
    standing = OrderMove.objects.filter(program=program, ended_at__isnull=True, **which)
    return standing.update(ended_at=hand.at, ended_by=hand.by)


def _dates(hold: LetterHold) -> dict[str, str]:
    return {"since_on": hold.since_on.isoformat(), "until_on": hold.until_on.isoformat()}


def _record(
    program: Program,
    pk: int | None,
    what: str,
    label: str,
    *,
    hand: Hand,
    before: dict[str, str] | None = None,
    after: dict[str, str] | None = None,
) -> None:
    record_change(
        hand=hand,
        what=what,
        subject_id=pk,
        label=label,
        before=before or {},
        after=after or {},
        program=program,
    )
