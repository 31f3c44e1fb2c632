"""Records owed notices and the letters that carry them, a few letters to a transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.fire_reports import fire_report, is_fire_report
from notices.actions.holding import tell_of_late_notices
from notices.catalogues import words_in
from notices.domain.addresses import window_block
from notices.domain.briefs import Brief
from notices.domain.codes import token_digest
from notices.domain.composing import compose
from notices.domain.content import LetterContent
from notices.domain.kinds import LetterState
from notices.domain.late import MAILED_LATE
from notices.domain.owing import LetterGroup, OwedNotice, into_letters, within_quota
from notices.links import short_code_of, token_of
from notices.models import Letter, LetterNotice, Notice
from notices.queries.addressees import recipients_by_key
from notices.queries.briefs import Stamp, brief_of
from notices.queries.going import in_order
from notices.queries.hindered import visits_without_a_test
from notices.queries.owed import Position, owed_notices, positions
from notices.queries.pacing import leaving_day
from notices.queries.responsible import Recipient
from notices.queries.wordings import OwnWordings, wordings_in_force
from scheduling.models import ProgramClock


@dataclass(slots=True)
class Recorded:
    """What one transaction recorded."""

    letters: list[int] = field(default_factory=list)
    notices: int = 0
    skipped: int = 0


def record_letters(groups: Sequence[LetterGroup], *, day: Day) -> Recorded:
    """Record the notices of these letters and compose each letter, all or nothing.

    What is owed is read again under the program's lock: another run may have
    recorded it, a test may have come in, the owner may have changed.
    """
    ids = [owed.obligation_id for group in groups for owed in group.owed]
    with transaction.atomic():
        clock = locked_clock(day.program)
        found = positions(ids, today=day.on, lock=True)
        expected = {(owed.key, owed.recipient_key) for group in groups for owed in group.owed}
        owed = [
            notice
            for notice in owed_notices(found, today=day.on)
            if (notice.key, notice.recipient_key) in expected and not notice.hold
        ]
        letters = in_order(into_letters(owed), program=day.program).letters
        fresh, _ = within_quota(letters, most=letters_left(day))
        places = {place.row.pk: place for place in found}
        return _record(fresh, day=day, clock=clock, places=places)


def letters_left(day: Day) -> int | None:
    """Return how many letters the program may still compose today; None: as many as are owed."""
    most = day.program.letters_a_day
    if most is None:
        return None
    composed = Letter.objects.filter(program=day.program, composed_on=day.on)
    return max(0, most - composed.exclude(state=LetterState.WITHDRAWN).count())


def _record(
    groups: Sequence[LetterGroup],
    *,
    day: Day,
    clock: ProgramClock,
    places: Mapping[int, Position],
) -> Recorded:
    if not groups:
        return Recorded()
    kept = _kept_notices(groups, day=day)
    stamps = _stamps(len(groups), day=day, clock=clock)
    visits = visits_without_a_test(place.row for place in places.values())
    own = wordings_in_force(day.program)
    keys = (group.first.recipient_key for group in groups)
    addressees = recipients_by_key(keys, program=day.program)
    replaced = _mailed_too_late(groups)
    letters = []
    for group, stamp in zip(groups, stamps, strict=True):
        recipient = addressees[group.first.recipient_key]
        address = window_block(recipient.mailing)
        if is_fire_report(group):
            content = fire_report(
                group, program=day.program, places=places, stamp=stamp, address=address
            )
        else:
            brief = brief_of(
                group,
                program=day.program,
                recipient=recipient,
                places=places,
                stamp=stamp,
                visits=visits,
            )
            brief = replace(brief, replaces=replaced.get(group.first.notice_id or 0, ""))
            content = _composed(brief, own=own)
        made = _letter(group, day=day, content=content, stamp=stamp, recipient=recipient)
        made.flags = list(address.problems)
        made.also_by = list(places[group.first.obligation_id].also_by)
        letters.append(made)
    _link_predecessors(groups, letters=letters)
    stored = Letter.objects.bulk_create(letters)
    _bind(groups, letters=stored, notices=kept)
    everything = {owed.key: owed for group in groups for owed in group.owed}
    tell_of_late_notices(everything.values(), day=day)
    return Recorded(
        letters=[letter.pk for letter in stored],
        notices=len(everything),
        skipped=sum(owed.skipped for owed in everything.values()),
    )


def _kept_notices(groups: Sequence[LetterGroup], *, day: Day) -> dict[tuple[int, str, str], Notice]:
    owed = [notice for group in groups for notice in group.owed]
    known = Notice.objects.in_bulk([o.notice_id for o in owed if o.notice_id is not None])
    revived = [notice for notice in known.values() if not _is_of(notice, day=day)]
    for notice in revived:
        notice.withdrawn_on, notice.withdrawn_reason = None, ""
        notice.recorded_on, notice.run = day.on, day.run
    Notice.objects.bulk_update(
        revived, ["withdrawn_on", "withdrawn_reason", "recorded_on", "run"], batch_size=200
    )
    new = {o.key: o for o in owed if o.notice_id is None}
    made = Notice.objects.bulk_create([_notice(o, day=day) for o in new.values()])
    by_key = dict(zip(new, made, strict=True))
    by_key |= {o.key: known[o.notice_id] for o in owed if o.notice_id is not None}
    return by_key


def _is_of(notice: Notice, *, day: Day) -> bool:
    """Whether this very run recorded it."""
    return notice.withdrawn_on is None and notice.run_id == (day.run.pk if day.run else None)


def _notice(owed: OwedNotice, *, day: Day) -> Notice:
    return Notice(
        program=day.program,
        matter_key=f"obligation:{owed.obligation_id}",
        obligation_id=owed.obligation_id,
        assembly_id=owed.assembly_id,
        premises_id=owed.premises_id,
        rung=owed.rung,
        occurrence=owed.occurrence,
        owed_on=owed.owed_on,
        recorded_on=day.on,
        run=day.run,
        reasons=list(owed.reasons),
        citation=owed.citation[:500],
    )


def _stamps(count: int, *, day: Day, clock: ProgramClock) -> list[Stamp]:
    """Take the next numbers from the clock; a code that is taken is stepped past."""
    first = clock.last_letter_no + 1
    clock.last_letter_no += count
    clock.save(update_fields=["last_letter_no"])
    numbers = [f"{day.on:%y-%m%d}-{number:04d}" for number in range(first, first + count)]
    code = day.program.code
    codes = {number: short_code_of(program_code=code, number=number) for number in numbers}
    taken = set(
        Letter.objects.filter(short_code__in=codes.values()).values_list("short_code", flat=True)
    )
    for number in numbers:
        attempt = 0
        while codes[number] in taken:
            attempt += 1
            codes[number] = short_code_of(program_code=code, number=number, attempt=attempt)
        taken.add(codes[number])
    leaves = leaving_day(day.program, on=day.on)
    return [Stamp(number=n, code=codes[n], leaves_on=leaves) for n in numbers]


def _composed(brief: Brief, *, own: OwnWordings) -> LetterContent:
    second = brief.second_language
    return compose(
        brief,
        words=words_in(brief.language),
        second_words=words_in(second) if second else None,
        own=own.of(brief, language=brief.language),
        second_own=own.of(brief, language=second),
    )


def _letter(
    group: LetterGroup, *, day: Day, content: LetterContent, stamp: Stamp, recipient: Recipient
) -> Letter:
    token = token_of(program_code=day.program.code, number=stamp.number)
    return Letter(
        program=day.program,
        run=day.run,
        number=stamp.number,
        kind=group.first.words,
        recipient=recipient.party,
        recipient_key=group.first.recipient_key,
        address_lines=list(content.address_lines),
        language=content.language,
        content=content.to_plain(),
        composed_on=day.on,
        mailing_on=stamp.leaves_on,
        channel=group.first.channel,
        needs_release=group.first.needs_release,
        is_order=group.first.is_order,
        state=LetterState.COMPOSED,
        token_hash=token_digest(token),
        short_code=stamp.code,
        mailing_zip=recipient.mailing.zip,
        created_at=day.at,
    )


def _mailed_too_late(groups: Sequence[LetterGroup]) -> dict[int, str]:
    """Return by notice the number of the letter that was mailed too late for its days."""
    ids = [o.notice_id for group in groups for o in group.owed if o.notice_id is not None]
    dead = LetterNotice.objects.filter(
        notice__in=ids, is_live=False, letter__ended_reason__startswith=MAILED_LATE
    )
    return dict(dead.order_by("letter_id").values_list("notice_id", "letter__number"))


def _link_predecessors(groups: Sequence[LetterGroup], *, letters: Sequence[Letter]) -> None:
    """A letter composed anew keeps and links the one that was withdrawn before it left."""
    anew = [o.notice_id for group in groups for o in group.owed if o.notice_id is not None]
    dead = LetterNotice.objects.filter(notice__in=anew, is_live=False).order_by("letter_id")
    last = dict(dead.values_list("notice_id", "letter_id"))
    for group, letter in zip(groups, letters, strict=True):
        before = [last[o.notice_id] for o in group.owed if o.notice_id in last]
        letter.predecessor_id = max(before, default=None)


def _bind(
    groups: Sequence[LetterGroup],
    *,
    letters: Sequence[Letter],
    notices: Mapping[tuple[int, str, str], Notice],
) -> None:
    LetterNotice.objects.bulk_create(
        LetterNotice(letter=letter, notice=notices[owed.key], recipient_key=letter.recipient_key)
        for group, letter in zip(groups, letters, strict=True)
        for owed in group.owed
    )
