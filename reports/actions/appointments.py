"""Customers told of their visits: the letter or e-mail ordered from notices, or a call to make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import IntegrityError, transaction

from notices.actions.clocks import Day
from notices.actions.extra_letters import Wanted, write_letter
from notices.actions.releasing import release_letters
from notices.catalogues import words_in
from notices.domain.briefs import Sender
from notices.domain.kinds import Channel
from notices.models import Letter, LetterInvitation
from notices.queries.briefs import item_of, sender_of
from registry.changes import Hand
from registry.models import Program
from reports.domain.appointment_letters import (
    Appointment,
    AppointmentLetter,
    subject_of,
    text_of,
)
from reports.domain.appointments import ToldBy
from reports.invitations import CANCEL, REQUEST, Visit, invitation_text
from reports.models import AppointmentTold
from reports.queries.appointments import Telling, to_tell
from scheduling.models import Obligation


@dataclass(slots=True)
class Tally:
    """How many were told by letter or e-mail, how many calls are due, and what was refused."""

    written: int = 0
    calls: int = 0
    refused: tuple[str, ...] = ()


def tell_customers(
    program: Program, *, keys: Sequence[str], hand: Hand, day: Day, now: datetime
) -> Tally:
    """Say what is to be said, to those whose keys a person was shown and chose.

    What has changed since is not said: it stands on the page anew. Told twice at once, a customer
    hears it once.
    """
    tally = Tally()
    refused = []
    chosen = set(keys)
    for one in to_tell(program, now=now):
        if one.key not in chosen:
            continue
        letter = None if one.say.by is ToldBy.CALL else _written(one, program=program, day=day)
        if not _kept(one, program=program, letter=letter, hand=hand):
            continue
        tally.calls += one.say.must_call
        if letter is None:
            continue
        done = release_letters(
            program=program, letter_ids=[letter.pk], by=hand.by, at=day.at, today=day.on
        )
        tally.written += bool(done.released)
        refused += [f"{one.premises}: {why}" for why in done.refused.values()]
    tally.refused = tuple(refused)
    return tally


def call_made(row: AppointmentTold, *, words: str, was_reached: bool, hand: Hand) -> bool:
    """Keep what a call came to; it stays due until somebody was reached. False: it was done."""
    due = AppointmentTold.objects.filter(pk=row.pk, call_due=True)
    return bool(
        due.update(
            call_due=not was_reached,
            called_at=hand.at,
            called_by=hand.by,
            call_words=words.strip()[:300],
        )
    )


def _kept(one: Telling, *, program: Program, letter: Letter | None, hand: Hand) -> bool:
    try:
        with transaction.atomic():
            AppointmentTold.objects.create(
                program=program,
                premises=one.premises,
                stop=one.stop or (one.told.stop if one.told else None),
                uid=one.uid,
                sequence=one.sequence,
                kind=one.say.kind,
                starts_at=one.stands.starts_at,
                ends_at=one.stands.ends_at,
                tester=one.stands.tester,
                by_way=one.say.by,
                letter=letter,
                at=hand.at,
                by=hand.by,
                call_due=one.say.must_call,
            )
    except IntegrityError:  # somebody said it at the same moment
        return False
    return True


def _written(one: Telling, *, program: Program, day: Day) -> Letter:
    appointment = _appointment(one, program=program)
    sender = sender_of(program)
    letter = write_letter(
        Wanted(
            kind=one.say.kind,
            key=f"appointment:{one.uid}:{one.sequence}",
            recipient=one.recipient,
            text_in=lambda words: text_of(one.say.kind, appointment, sender=sender, words=words),
            channel=Channel.EMAIL if one.say.by is ToldBy.EMAIL else Channel.MAIL,
        ),
        day=day,
    )
    if one.email:
        method = CANCEL if one.say.kind is AppointmentLetter.OFF else REQUEST
        text = _invitation(one, appointment, sender=sender, method=method, program=program, day=day)
        LetterInvitation.objects.get_or_create(
            letter=letter, defaults={"method": method, "text": text}
        )
    return letter


def _appointment(one: Telling, *, program: Program) -> Appointment:
    zone = ZoneInfo(program.zone)
    was = one.told.starts_at.astimezone(zone) if one.told is not None else None
    round_ = one.stop.round if one.stop else None
    return Appointment(
        place=one.premises.name or one.premises.address,
        starts=one.stands.starts_at.astimezone(zone),
        ends=one.stands.ends_at.astimezone(zone),
        tester=one.stands.tester,
        firm=round_.firm.name if round_ else "",
        items=tuple(item_of(row) for row in _work(one)),
        was=was,
        tell_occupants=one.premises.has_tenants,
    )


def _work(one: Telling) -> list[Obligation]:
    stop = one.stop or (one.told.stop if one.told else None)
    if stop is None:
        return []
    return list(
        Obligation.objects.filter(stop_work__stop=stop, assembly__isnull=False)
        .select_related("rulebook", "assembly__state", "assembly__premises", "assembly__connection")
        .distinct()
        .order_by("assembly__serial", "pk")
    )


def _invitation(
    one: Telling,
    appointment: Appointment,
    *,
    sender: Sender,
    method: str,
    program: Program,
    day: Day,
) -> str:
    words = words_in("en")
    told = text_of(one.say.kind, appointment, sender=sender, words=words)
    site = one.premises
    return invitation_text(
        Visit(
            uid=one.uid,
            sequence=one.sequence,
            starts=appointment.starts,
            ends=appointment.ends,
            zone=program.zone,
            summary=subject_of(one.say.kind, appointment, words=words),
            place=", ".join(part for part in (site.address, site.city, site.state) if part),
            words="\n\n".join([*told.headline, *told.paragraphs, *told.steps, *told.cautions]),
            lat=float(site.lat) if site.lat is not None else None,
            lon=float(site.lon) if site.lon is not None else None,
        ),
        method=method,
        organizer=settings.MAIL_FROM_ADDRESS,
        office=sender.name,
        attendee=one.email,
        at=day.at,
    )
