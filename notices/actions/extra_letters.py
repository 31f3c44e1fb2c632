"""Writes one letter outside the ladders, once for what it is about, and draws it at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.leaving import draw_now
from notices.catalogues import SECOND_LANGUAGES, words_in
from notices.domain.addresses import window_block
from notices.domain.briefs import Words
from notices.domain.codes import token_digest
from notices.domain.kinds import Channel, LetterState
from notices.domain.plain_letters import Frame, Text, framed
from notices.links import short_code_of, token_of
from notices.models import Letter, LetterAbout
from notices.queries.briefs import sender_of
from notices.queries.responsible import Recipient
from registry.models import Program


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A letter to write: what it is about (its key makes it one), to whom, by what way."""

    kind: str
    key: str
    recipient: Recipient
    text_in: Callable[[Words], Text]
    channel: str = Channel.MAIL
    also_by: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    needs_release: bool = True
    more_keys: tuple[str, ...] = ()
    """What else the letter is about; each is told by one letter only."""

    is_addressed: bool = False
    """It goes by e-mail, so that a mailing address that is not on record holds nothing up."""


def write_letter(wanted: Wanted, *, day: Day) -> Letter:
    """Compose the letter and draw it; one that exists for that matter is returned as it is.

    It waits for a person's release where it is wanted so. Two at once come to one letter: the
    key is unique.
    """
    with transaction.atomic():
        clock = locked_clock(day.program)
        known = LetterAbout.objects.filter(
            program=day.program, key=wanted.key, recipient_key=wanted.recipient.key
        ).select_related("letter")
        if (about := known.first()) is not None:
            return about.letter
        clock.last_letter_no += 1
        clock.save(update_fields=["last_letter_no"])
        letter = _letter(wanted, day=day, number=f"{day.on:%y-%m%d}-{clock.last_letter_no:04d}")
        LetterAbout.objects.bulk_create(
            [
                LetterAbout(
                    program=day.program,
                    letter=letter,
                    key=key,
                    recipient_key=wanted.recipient.key,
                )
                for key in (wanted.key, *wanted.more_keys)
            ],
            ignore_conflicts=True,
        )
    draw_now(letter, day=day)
    return letter


def _letter(wanted: Wanted, *, day: Day, number: str) -> Letter:
    block = window_block(wanted.recipient.mailing)
    second = second_language(day.program, recipient=wanted.recipient)
    content = framed(
        Frame(
            kind=wanted.kind,
            number=number,
            leaves_on=day.on,
            sender=sender_of(day.program),
            address=block,
            second_language=second,
        ),
        text_in=wanted.text_in,
        words=words_in("en"),
        second_words=words_in(second) if second else None,
    )
    code = day.program.code
    return Letter.objects.create(
        program=day.program,
        number=number,
        kind=wanted.kind,
        recipient=wanted.recipient.party,
        recipient_key=wanted.recipient.key,
        address_lines=list(content.address_lines),
        language=content.language,
        content=content.to_plain(),
        composed_on=day.on,
        mailing_on=day.on,
        channel=wanted.channel,
        also_by=list(wanted.also_by),
        needs_release=wanted.needs_release,
        state=LetterState.COMPOSED,
        flags=[*(() if wanted.is_addressed else block.problems), *wanted.flags],
        token_hash=token_digest(token_of(program_code=code, number=number)),
        short_code=_free_code(code, number=number),
        mailing_zip=wanted.recipient.mailing.zip,
        created_at=day.at,
    )


def second_language(program: Program, *, recipient: Recipient) -> str:
    """Return the language besides English in which the headline stands too, or nothing."""
    asked = [recipient.language, *program.languages.replace(",", " ").split()]
    return next((one for one in asked if one in SECOND_LANGUAGES), "")


def _free_code(code: str, *, number: str) -> str:
    attempt = 0
    while True:
        found = short_code_of(program_code=code, number=number, attempt=attempt)
        if not Letter.objects.filter(short_code=found).exists():
            return found
        attempt += 1
