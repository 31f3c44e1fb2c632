"""Gathers a case from what is stored: facts, obligations, notices, letters, tests, signatures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils import timezone

from notices.domain.content import wording_words
from notices.domain.wording import size_words
from notices.models import Letter, LetterNotice, Notice
from registry.changes import Hand
from registry.models import Assembly, Premises
from reports.domain.evidence import LetterTold, Rules, Story, Way, at_step, in_order
from reports.evidence.happenings import (
    duty_events,
    fact_events,
    letter_events,
    notice_events,
    signature_events,
    test_events,
)
from reports.evidence.pictured import picture_events
from reports.evidence.spoken import (
    answer_events,
    contact_events,
    fee_events,
    objection_events,
    other_letters,
    returned_events,
    shutoff_events,
    work_events,
)
from scheduling.models import Obligation

EMPTY = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What the evidence is about: a premises, or one obligation there."""

    premises: Premises
    obligation: Obligation | None = None


def story_of(case: Case, *, as_of: date, hand: Hand, head: str = EMPTY) -> Story:
    """Return the story of a case with all that is on record of it, to the day asked about.

    A moment is told as the day it fell on in the program's zone.
    """
    with timezone.override(ZoneInfo(case.premises.program.zone)):
        return _story(case, as_of=as_of, hand=hand, head=head)


def _story(case: Case, *, as_of: date, hand: Hand, head: str) -> Story:
    premises = case.premises
    assemblies = _assemblies(case)
    obligations = _obligations(case, assemblies=assemblies)
    notices = list(
        Notice.objects.filter(obligation__in=[row.pk for row in obligations])
        .filter(recorded_on__lte=as_of)
        .select_related("assembly", "obligation")
    )
    letters = _letters(premises, notices=notices, obligations=obligations, as_of=as_of)
    about = f"{premises.address}, {premises.city}".strip(" ,")
    if premises.account:
        about = f"{about} (account {premises.account})"
    if case.obligation is not None:
        about = f"{about}: {case.obligation}"
    return Story(
        office=premises.program.name,
        program=premises.program.code,
        about=about,
        as_of=as_of,
        made_at=hand.at.isoformat(timespec="seconds"),
        made_by=hand.by,
        things=tuple(_thing(one) for one in assemblies),
        events=in_order(
            event
            for found in (
                at_step(1, contact_events(premises)),
                at_step(1, returned_events([letter.pk for letter in letters])),
                at_step(1, answer_events(premises)),
                at_step(1, objection_events(premises)),
                at_step(2, test_events(assemblies)),
                at_step(2, fact_events(premises, assemblies=assemblies, is_whole=_is_whole(case))),
                at_step(3, picture_events(premises, assemblies=assemblies, letters=letters)),
                at_step(4, duty_events(obligations)),
                at_step(5, notice_events(notices)),
                at_step(6, signature_events(letters)),
                at_step(7, letter_events(letters)),
                at_step(8, shutoff_events(premises)),
                at_step(8, work_events(premises)),
                at_step(13, fee_events(premises)),
            )
            for event in found
            if event.on <= as_of
        ),
        letters=tuple(_letter(one) for one in letters),
        rules=tuple(_rules(obligations, notices=notices)),
        head=head,
    )


def letters_of(story: Story, *, premises: Premises) -> dict[str, bytes]:
    """Return the kept bytes of the story's letters, by the name of their attachment."""
    numbers = [one.number for one in story.letters if one.file]
    rows = Letter.objects.filter(
        program=premises.program_id, number__in=numbers, file__isnull=False
    )
    kept = {f"{row.number}.pdf": bytes(row.file.pdf) for row in rows.select_related("file")}
    # The letters of a person who was erased have no bytes any more.
    return {name: pdf for name, pdf in kept.items() if pdf}


def _assemblies(case: Case) -> list[Assembly]:
    rows = Assembly.objects.filter(premises=case.premises).order_by("serial", "pk")
    if case.obligation is not None:
        rows = rows.filter(obligations=case.obligation)
    return list(rows)


def _obligations(case: Case, *, assemblies: Sequence[Assembly]) -> list[Obligation]:
    rows = Obligation.objects.select_related("rulebook", "assembly").order_by("opens_on", "pk")
    if case.obligation is not None:
        return list(rows.filter(pk=case.obligation.pk))
    ids = [one.pk for one in assemblies]
    mine = Q(assembly__in=ids) | Q(premises=case.premises) | Q(connection__premises=case.premises)
    return list(rows.filter(mine))


def _thing(one: Assembly) -> tuple[str, ...]:
    size = size_words(one.size_in) if one.size_in is not None else EMPTY
    return (one.serial, one.type, size, one.location, one.hazard)


def _is_whole(case: Case) -> bool:
    """Whether the premises is told, and not one obligation of it."""
    return case.obligation is None


def _letters(
    premises: Premises,
    *,
    notices: Sequence[Notice],
    obligations: Sequence[Obligation],
    as_of: date,
) -> list[Letter]:
    carried = LetterNotice.objects.filter(notice__in=[one.pk for one in notices])
    others = other_letters(premises, obligation_ids=[row.pk for row in obligations])
    rows = Letter.objects.filter(
        Q(pk__in=carried.values("letter")) | Q(pk__in=others), composed_on__lte=as_of
    ).select_related("file")
    return list(
        rows.prefetch_related("deliveries__log", "carried__notice__assembly").order_by(
            "composed_on", "pk"
        )
    )


def _letter(letter: Letter) -> LetterTold:
    kept = getattr(letter, "file", None)
    return LetterTold(
        number=letter.number,
        kind=letter.kind,
        to=tuple(letter.address_lines),
        composed_on=letter.composed_on.isoformat(),
        state=letter.state,
        left_on=letter.left_on.isoformat() if letter.left_on else EMPTY,
        released_by=letter.released_by,
        ended=letter.ended_reason,
        carries=tuple(
            f"{one.notice.rung} {one.notice.assembly.serial if one.notice.assembly else ''}".strip()
            for one in letter.carried.all()
        ),
        ways=tuple(
            Way(
                channel=way.channel,
                state=way.state,
                left_on=way.left_on.isoformat() if way.left_on else EMPTY,
                detail=way.detail,
                tracking=way.tracking,
                tries=tuple(
                    f"{one.at.isoformat(timespec='minutes')} {one.outcome} {one.code} {one.words}"
                    for one in way.log.all()
                ),
            )
            for way in letter.deliveries.all()
        ),
        pages=kept.pages if kept else 0,
        sha256=kept.sha256 if kept else EMPTY,
        file=f"{letter.number}.pdf" if kept and kept.pdf else EMPTY,
        wording=wording_words(letter.content),
    )


def _rules(obligations: Sequence[Obligation], *, notices: Sequence[Notice]) -> Iterator[Rules]:
    books = {row.rulebook_id: row.rulebook for row in obligations}
    for pk, book in books.items():
        mine = {row.pk for row in obligations if row.rulebook_id == pk}
        used = (one.citation for one in notices if one.obligation_id in mine and one.citation)
        yield Rules(
            title=book.title,
            edition=f"{book.name}, edition {book.edition}",
            sha256=book.sha256,
            citations=tuple(dict.fromkeys(used)),
        )
