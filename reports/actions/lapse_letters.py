"""Writes to testing companies about what lapses: once for each paper and day before it."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from notices.actions.clocks import Day
from notices.actions.extra_letters import Wanted, write_letter
from notices.actions.releasing import release_letters
from notices.domain.briefs import Words
from notices.domain.kinds import Channel
from notices.domain.lapse_letters import (
    LAPSED,
    LapseBrief,
    LapseLetter,
    Lapsing,
    lapse_letter,
    rung_of,
)
from notices.domain.plain_letters import Text
from notices.models import Letter, LetterAbout
from notices.queries.addressees import recipients_by_key
from notices.queries.briefs import sender_of
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Program
from registry.moments import recording_moment, today_in
from reports.models import LapseLetters
from reports.queries.lapsing import Lapse, credentials_citation, lapsing

logger = logging.getLogger(__name__)
BY = "the office\u2019s clock"
MOST_DAYS = 180


def set_lapse_letters(
    program: Program, *, days_before: Sequence[int], is_told_after: bool, hand: Hand
) -> LapseLetters:
    """Keep when letters go; Refused for days that are none."""
    wanted = sorted(set(days_before), reverse=True)
    if any(not 1 <= days <= MOST_DAYS for days in wanted) or len(wanted) > 4:
        raise Refused(f"At most four whole numbers of days, each from 1 to {MOST_DAYS}.")
    with transaction.atomic():
        before = LapseLetters.objects.filter(program=program).first()
        made, _ = LapseLetters.objects.update_or_create(
            program=program, defaults={"days_before": wanted, "is_told_after": is_told_after}
        )
        record_change(
            hand=hand,
            what="letters about lapses",
            subject_id=program.pk,
            label=program.name,
            before=_plain(before) if before else {},
            after=_plain(made),
            program=program,
        )
    return made


def write_lapse_letters(program: Program, *, today: date, at: datetime, by: str) -> list[Letter]:
    """Write what is owed today and let it go; a second time writes nothing.

    One letter for each company and rung, by e-mail, else by mail. A company with neither address
    on record gets a letter that waits for a person.
    """
    settings = LapseLetters.objects.filter(program=program).first()
    if settings is None:
        return []
    day = Day(program=program, on=today, at=at)
    letters = []
    for (firm_id, rung), some in _owed(program, settings=settings, today=today).items():
        letter = _letter(program, firm_id=firm_id, rung=rung, some=some, day=day)
        if not letter.flags:
            release_letters(program=program, letter_ids=[letter.pk], by=by, at=at, today=today)
        letters.append(letter)
    return letters


def write_all() -> str:
    """Write for each live program; one program's fault is told and stops no other."""
    done: list[str] = []
    now = timezone.now()
    for program in Program.objects.filter(is_trial=False, lapse_letters__isnull=False):
        today = today_in(zone=program.zone, now=now)
        if program.go_live_on is None or today < program.go_live_on:
            continue
        try:
            made = write_lapse_letters(
                program,
                today=today,
                at=recording_moment(program=program, as_of=today, now=now),
                by=BY,
            )
        except Exception as error:  # one program's fault must not stop the others
            logger.exception("Letters about lapses of %s were not written.", program.code)
            done.append(f"{program.code} lapses: {type(error).__name__}")
            continue
        if made:
            done.append(f"{program.code} lapses {len(made)}")
    return ", ".join(done)


def key_of_lapse(one: Lapse, *, rung: str) -> str:
    """Return what such a letter is about: the paper, its last day and the rung."""
    return f"lapse:{one.what}:{one.pk}:{one.last_day.isoformat()}:{rung}"


def _owed(
    program: Program, *, settings: LapseLetters, today: date
) -> dict[tuple[int, str], list[Lapse]]:
    within = max([30, *settings.days_before])
    found: dict[tuple[int, str], list[Lapse]] = defaultdict(list)
    keys: dict[str, tuple[int, str, Lapse]] = {}
    for one in lapsing(program, today=today, within=within):
        rung = rung_of(
            one.last_day,
            today=today,
            before=settings.days_before,
            is_told_after=settings.is_told_after,
        )
        if rung:
            keys[key_of_lapse(one, rung=rung)] = (one.firm_id, rung, one)
    known = LetterAbout.objects.filter(program=program, key__in=list(keys))
    told = set(known.values_list("key", flat=True))
    for key, (firm_id, rung, one) in keys.items():
        if key not in told:
            found[(firm_id, rung)].append(one)
    return found


def _letter(
    program: Program, *, firm_id: int, rung: str, some: Sequence[Lapse], day: Day
) -> Letter:
    has_passed = rung == LAPSED
    brief = LapseBrief(
        sender=sender_of(program),
        items=tuple(Lapsing(what=one.what, name=one.label, last_day=one.last_day) for one in some),
        citation=credentials_citation(program, today=day.on),
    )

    def text_in(words: Words) -> Text:
        return lapse_letter(brief, words=words, has_passed=has_passed)

    key = f"firm:{firm_id}"
    keys = [key_of_lapse(one, rung=rung) for one in some]
    has_mail = bool(some[0].firm_email.strip())
    return write_letter(
        Wanted(
            kind=LapseLetter.LAPSED if has_passed else LapseLetter.SOON,
            key=keys[0],
            more_keys=tuple(keys[1:]),
            recipient=recipients_by_key([key], program=program)[key],
            text_in=text_in,
            channel=Channel.EMAIL if has_mail else Channel.MAIL,
            is_addressed=has_mail,
            needs_release=False,
        ),
        day=day,
    )


def _plain(row: LapseLetters) -> dict[str, object]:
    return {"days_before": list(row.days_before), "is_told_after": row.is_told_after}
