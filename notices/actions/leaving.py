"""Draws composed letters, keeps their bytes, and marks those that leave today.

Drawing happens outside any transaction. The bytes are stored and the letter
leaves in one short transaction that first asks again whether its notices stand.
A run killed anywhere here leaves letters that the next run draws to the same bytes.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from django.db import transaction
from reportlab.platypus.doctemplate import LayoutError

from notices.actions.clocks import Day, locked_clock
from notices.actions.withdrawing import drop_stale
from notices.delivery.making import deliveries_for
from notices.delivery.settling import mark_left
from notices.domain.content import content_from_plain
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import LetterState
from notices.links import owner_link, token_of
from notices.models import Delivery, Letter, LetterFile, LetterNotice
from notices.queries.logos import logo_of
from notices.queries.owed import positions
from notices.queries.pacing import why_kept_in
from notices.rendering.letters import RenderedLetter, render
from notices.rendering.paragraphs import MarkupRefusedError
from registry.batches import in_batches

CHUNK = 25
"""Letters drawn before they are stored: what a kill costs is drawn again."""

Progress = Callable[[str, int, int], None]


@dataclass(slots=True)
class Finished:
    """What became of the letters that waited to be drawn or to leave."""

    left: int = 0
    withdrawn: int = 0
    flagged: list[int] = field(default_factory=list)


def finish_letters(day: Day, *, out: Path | None, progress: Progress) -> Finished:
    """Draw every letter without bytes, and let go each that needs no person."""
    ids = _unfinished(day)
    finished = Finished()
    for done, batch in enumerate(in_batches(ids, size=CHUNK)):
        drawn = _draw(batch, day=day, out=out)
        _store_and_leave(batch, drawn=drawn, day=day, finished=finished)
        progress("letters", min((done + 1) * CHUNK, len(ids)), len(ids))
    return finished


def draw_now(letter: Letter, *, day: Day) -> None:
    """Draw one letter that a person asked for and keep its bytes; a kill leaves it to the run."""
    drawn = _draw([letter.pk], day=day, out=None)
    with transaction.atomic():
        locked_clock(day.program)
        _store(_held([letter.pk]), drawn=drawn, day=day)


def let_go(letters: Sequence[Letter], *, day: Day, how: str) -> None:
    """Let letters go: each gets its deliveries and leaves by them.

    A trial reaches nobody, so there a letter leaves on the run's day whatever its channel,
    unless no letter leaves that day: then the next run of an open day lets it go.
    Call it inside a transaction that holds the clock and these letters.
    """
    if day.program.is_trial and why_kept_in(day.program, on=day.on):
        return
    ids = [letter.pk for letter in letters]
    deliveries = deliveries_for(letters, program=day.program)
    if not day.program.is_trial:
        Letter.objects.filter(pk__in=ids).update(state=LetterState.LEAVING)
        Delivery.objects.bulk_create(deliveries)
        return
    for delivery in deliveries:
        delivery.state, delivery.left_on, delivery.left_at = DeliveryState.LEFT, day.on, day.at
        delivery.detail = how
    Delivery.objects.bulk_create(deliveries)
    mark_left(ids, on=day.on, at=day.at, day=day, how=how)


def _unfinished(day: Day) -> list[int]:
    """Letters not drawn yet, and letters drawn that may leave but have not."""
    waiting = Letter.objects.filter(program=day.program, state__in=_NOT_GONE)
    undrawn = set(waiting.filter(file__isnull=True).values_list("pk", flat=True))
    rows = waiting.order_by("pk").values_list("pk", "state", "needs_release", "flags")
    return [
        key
        for key, state, needs, flags in rows
        if (key in undrawn and not _could_not_be_drawn(flags))
        or _may_leave(state, needs_release=needs, flags=flags)
    ]


_NOT_GONE = (LetterState.COMPOSED, LetterState.RELEASED)


def _may_leave(state: str, *, needs_release: bool, flags: Sequence[str]) -> bool:
    """Say whether nothing holds a letter but the day: a person released it, or none must."""
    return state == LetterState.RELEASED or not (needs_release or flags)


def _could_not_be_drawn(flags: Iterable[str]) -> bool:
    return any(flag.startswith(NOT_DRAWN) for flag in flags)


NOT_DRAWN = "The letter could not be drawn"


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A letter's drawing, or why there is none."""

    rendered: RenderedLetter | None
    problem: str = ""


def _draw(ids: Sequence[int], *, day: Day, out: Path | None) -> dict[int, _Drawn]:
    missing = Letter.objects.filter(pk__in=ids, file__isnull=True).order_by("pk")
    drawn: dict[int, _Drawn] = {}
    logos: dict[str, bytes | None] = {}
    for letter in missing:
        token = token_of(program_code=day.program.code, number=letter.number)
        named = letter.content.get("letterhead", {}).get("logo", "")
        if named not in logos:
            logos[named] = logo_of(day.program, sha256=named)
        drawn[letter.pk] = _drawing(letter, link=owner_link(token), logo=logos[named])
        rendered = drawn[letter.pk].rendered
        if out is not None and rendered is not None:
            _write(out / f"{letter.number}-{letter.kind}.pdf", pdf=rendered.pdf)
    return drawn


def _drawing(letter: Letter, *, link: str, logo: bytes | None) -> _Drawn:
    try:
        return _Drawn(render(content_from_plain(letter.content), link=link, logo=logo))
    except (LayoutError, MarkupRefusedError, ValueError, KeyError) as error:
        return _Drawn(None, f"{NOT_DRAWN}: {type(error).__name__}.")


def _write(path: Path, *, pdf: bytes) -> None:
    """Write whole or not at all: a reader never meets half a letter."""
    beside = path.with_suffix(f".{os.getpid()}.part")
    beside.write_bytes(pdf)
    beside.replace(path)


def _store_and_leave(
    ids: Sequence[int], *, drawn: dict[int, _Drawn], day: Day, finished: Finished
) -> None:
    with transaction.atomic():
        locked_clock(day.program)
        letters = _held(ids)
        _store(letters, drawn=drawn, day=day)
        carried = LetterNotice.objects.filter(letter__in=letters, is_live=True)
        obligations = carried.order_by("notice__obligation_id").values_list(
            "notice__obligation_id", flat=True
        )
        found = positions([key for key in obligations if key], today=day.on, lock=True)
        finished.withdrawn += drop_stale(found, day=day)
        going = [
            one
            for one in _held(ids)
            if _may_leave(one.state, needs_release=one.needs_release, flags=one.flags)
        ]
        let_go(going, day=day, how=how_it_left(day))
        finished.left += len(going)


def how_it_left(day: Day) -> str:
    """Say how a letter of a trial leaves; any other says it by its deliveries."""
    return "A trial: left on the run's day and reached nobody." if day.program.is_trial else ""


def _held(ids: Sequence[int]) -> list[Letter]:
    rows = Letter.objects.filter(pk__in=ids, state__in=_NOT_GONE)
    return list(rows.select_for_update().order_by("pk"))


def _store(letters: Sequence[Letter], *, drawn: dict[int, _Drawn], day: Day) -> None:
    """Keep the bytes of letters that have none: the first to store them wins."""
    files, flagged = [], []
    for letter in letters:
        made = drawn.get(letter.pk)
        if made is None:
            continue
        if made.rendered is not None:
            files.append(_file(letter, rendered=made.rendered, day=day))
        found = [*(made.rendered.flags if made.rendered else ()), *filter(None, [made.problem])]
        if new := [flag for flag in found if flag not in letter.flags]:
            letter.flags = [*letter.flags, *new]
            flagged.append(letter)
    LetterFile.objects.bulk_create(files, ignore_conflicts=True)
    Letter.objects.bulk_update(flagged, ["flags"])


def _file(letter: Letter, *, rendered: RenderedLetter, day: Day) -> LetterFile:
    assert hashlib.sha256(rendered.pdf).hexdigest() == rendered.sha256
    return LetterFile(
        letter=letter,
        pdf=rendered.pdf,
        sha256=rendered.sha256,
        pages=rendered.pages,
        stored_at=day.at,
    )
