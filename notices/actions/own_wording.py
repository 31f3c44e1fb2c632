"""Keeps an office's own words for a letter: drafted, put in force by a person, restored, ended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.db import transaction
from django.db.models import Max, QuerySet

from notices.domain.cleaning import clean
from notices.domain.own_words import LONGEST, Part, faults
from notices.models import Wording
from notices.queries.wordings import DRAFT, DROPPED, EARLIER, IN_FORCE, WordingKey
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Program


class WordingRefusedError(ValueError):
    """Texts that cannot be kept; `faults` names them part by part."""

    def __init__(self, found: Mapping[Part, Sequence[str]]) -> None:
        super().__init__("; ".join(text for texts in found.values() for text in texts))
        self.faults = dict(found)


WHERE_SET = "set it in Settings, or leave the field out"
"""What to do about a field that the program has no value for."""


def empty_fields(program: Program) -> dict[str, str]:
    """Return the fields that this program has not filled, with where to fill them."""
    head = program.letterhead or {}
    contacts = program.contacts or {}
    names = ("phone", "email", "hours")
    return {name: WHERE_SET for name in names if not (head.get(name) or contacts.get(name))}


def keep_draft(
    program: Program,
    *,
    key: WordingKey,
    texts: Mapping[str, str],
    hand: Hand,
    taken_from: int | None = None,
) -> Wording:
    """Keep texts as the draft of this kind; one draft at a time, its number is kept.

    Raises WordingRefusedError where a text names no field of ours, speaks of a consequence, is
    too long, or says "shall"; nothing is written then.
    """
    tidy = {part.value: clean(texts.get(part.value, ""), cap=LONGEST + 1) for part in Part}
    _refuse(program, key=key, texts=tidy)
    with transaction.atomic():
        Program.objects.select_for_update().get(pk=program.pk)
        draft = _rows(program, key=key).filter(state=DRAFT).first()
        before = dict(draft.texts) if draft else {}
        if draft is None:
            draft = Wording(
                program=program, work=key.work, kind=key.kind, language=key.language, state=DRAFT
            )
            draft.number = (_rows(program, key=key).aggregate(last=Max("number"))["last"] or 0) + 1
        draft.texts, draft.taken_from = tidy, taken_from
        draft.made_at, draft.made_by = hand.at, hand.by
        draft.save()
        _record(draft, hand=hand, before=before, after=tidy)
    return draft


def put_in_force(program: Program, *, key: WordingKey, number: int, hand: Hand) -> Wording:
    """Put the draft of that number in force; what was in force before is kept as earlier.

    Letters composed from now on have its words; those composed already stay as they are.
    Raises Refused where it is no longer a draft, WordingRefusedError where its words no longer do.
    """
    with transaction.atomic():
        Program.objects.select_for_update().get(pk=program.pk)
        draft = _rows(program, key=key).filter(state=DRAFT, number=number).first()
        if draft is None:
            raise Refused(f"Wording {number} is no draft any more. Look at the page again.")
        _refuse(program, key=key, texts=draft.texts)
        _close(program, key=key, was=IN_FORCE, becomes=EARLIER, hand=hand)
        draft.state, draft.in_force_at, draft.in_force_by = IN_FORCE, hand.at, hand.by
        draft.save(update_fields=["state", "in_force_at", "in_force_by"])
        _record(draft, hand=hand, before={"state": DRAFT}, after={"state": IN_FORCE})
    return draft


def use_built_in(program: Program, *, key: WordingKey, hand: Hand) -> bool:
    """End what is in force: letters have our own words again. Say whether anything was."""
    with transaction.atomic():
        Program.objects.select_for_update().get(pk=program.pk)
        return _close(program, key=key, was=IN_FORCE, becomes=EARLIER, hand=hand)


def drop_draft(program: Program, *, key: WordingKey, hand: Hand) -> bool:
    """Put the draft away; its number is not used again. Say whether there was one."""
    with transaction.atomic():
        return _close(program, key=key, was=DRAFT, becomes=DROPPED, hand=hand)


def restore(program: Program, *, key: WordingKey, number: int, hand: Hand) -> Wording:
    """Make the words of an earlier version the draft; a person puts it in force."""
    row = _rows(program, key=key).filter(number=number).exclude(state=DRAFT).first()
    if row is None:
        raise Refused(f"There is no earlier wording {number}.")
    return keep_draft(program, key=key, texts=row.texts, hand=hand, taken_from=number)


def _close(program: Program, *, key: WordingKey, was: str, becomes: str, hand: Hand) -> bool:
    row = _rows(program, key=key).select_for_update().filter(state=was).first()
    if row is None:
        return False
    row.state, row.ended_at, row.ended_by = becomes, hand.at, hand.by
    row.save(update_fields=["state", "ended_at", "ended_by"])
    _record(row, hand=hand, before={"state": was}, after={"state": becomes})
    return True


def _refuse(program: Program, *, key: WordingKey, texts: Mapping[str, str]) -> None:
    empty = empty_fields(program)
    found = {
        part: told
        for part in Part
        if (told := faults(texts.get(part.value, ""), language=key.language, empty=empty))
    }
    if found:
        raise WordingRefusedError(found)


def _rows(program: Program, *, key: WordingKey) -> QuerySet[Wording]:
    return Wording.objects.filter(
        program=program, work=key.work, kind=key.kind, language=key.language
    )


def _record(
    row: Wording, *, hand: Hand, before: Mapping[str, str], after: Mapping[str, str]
) -> None:
    record_change(
        hand=hand,
        what="wording",
        subject_id=row.pk,
        label=f"{row.kind}, {row.language}, wording {row.number}",
        before=before,
        after=after,
        program=row.program,
    )
