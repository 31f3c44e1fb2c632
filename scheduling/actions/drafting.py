"""Drafts of a program's next rulebook: copied, changed rule by rule, brought in, thrown away."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils.text import slugify

from registry.changes import Hand, record_change
from registry.models import Program
from scheduling.domain.draft_tables import DraftError, DraftTables, checked
from scheduling.models import Rulebook

LONGEST = 500_000
"""Letters a rulebook may have; the longest that ship have some 30,000."""

Change = Callable[[DraftTables], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """The draft a person had before them: its row, and the digest of its text."""

    program: Program
    draft_id: int
    sha256: str


def start_draft(*, program: Program, text: str, name: str, hand: Hand) -> Rulebook:
    """Keep a text as a draft of the program under a name, as the next edition of that name.

    Raises DraftError for what cannot be a rulebook, a name that is none, or one that has a
    draft already. Nothing binds anybody before it is put in force.
    """
    slug = slugify(name)[:80]
    if not slug:
        raise DraftError(f"“{name}” is no name: write letters, figures and hyphens.")
    if len(text) > LONGEST:
        raise DraftError(f"The text has {len(text):,} letters; at most {LONGEST:,} are taken.")
    tables = DraftTables.of(text)
    tables.tables["name"] = slug
    rulebook = checked(tables.text())
    try:
        with transaction.atomic():
            draft = Rulebook.objects.create(
                program=program,
                name=slug,
                edition=_next_edition(program=program, name=slug),
                title=rulebook.title[:200],
                text=tables.text(),
                sha256=digest_of(tables.text()),
                gaps=list(rulebook.gaps),
                loaded_at=hand.at,
                is_draft=True,
            )
            _tell(draft, hand=hand, before={}, after={"started as": str(draft)})
    except IntegrityError as error:
        raise DraftError(
            f"There is a draft called {slug!r} already: change that one, or give another name."
        ) from error
    return draft


def replace_text(*, seen: Seen, text: str, hand: Hand) -> Rulebook:
    """Put an uploaded text in place of a draft's. Raises DraftError; the old text then stays."""
    if len(text) > LONGEST:
        raise DraftError(f"The text has {len(text):,} letters; at most {LONGEST:,} are taken.")
    new = DraftTables.of(text)

    def change(tables: DraftTables) -> None:
        name = tables.tables["name"]
        tables.tables = {**new.tables, "name": name}

    return _change(seen=seen, hand=hand, change=change, label="the whole text")


def save_rule(
    *,
    seen: Seen,
    part: str,
    place: int | None,
    cells: Mapping[str, Any],
    hand: Hand,
    fills: str = "",
) -> Rulebook:
    """Put a rule into a draft, in place of another or after the last.

    `fills` names a gap, which closes once rules stand for all it is about; until then the
    rule is kept and the gap stays open.
    """

    def change(tables: DraftTables) -> None:
        tables.put(part=part, place=place, cells=cells)
        if fills:
            with suppress(DraftError):
                tables.fill_gap(fills)

    return _change(seen=seen, hand=hand, change=change, label=_named(part, cells))


def save_head(*, seen: Seen, cells: Mapping[str, Any], hand: Hand) -> Rulebook:
    """Change title, place and the law's own day of a draft."""

    def change(tables: DraftTables) -> None:
        for key in ("title", "place", "effective_on"):
            tables.tables.pop(key, None)
        tables.tables = {"name": tables.tables["name"], **cells, **tables.tables}

    return _change(seen=seen, hand=hand, change=change, label="title and place")


def remove_rule(*, seen: Seen, part: str, place: int, hand: Hand) -> Rulebook:
    """Take a rule out of a draft. Raises DraftError where the rest would be none."""
    return _change(
        seen=seen,
        hand=hand,
        change=lambda tables: _remove(tables, part=part, place=place),
        label=f"{part} {place + 1} taken out",
    )


def _remove(tables: DraftTables, *, part: str, place: int) -> None:
    tables.remove(part=part, place=place)


def move_rule(*, seen: Seen, part: str, place: int, by: int, hand: Hand) -> Rulebook:
    """Move a rule of a draft up or down among its own: the first that fits decides."""
    return _change(
        seen=seen,
        hand=hand,
        change=lambda tables: tables.move(part=part, place=place, by=by),
        label=f"{part} {place + 1} moved",
    )


def waive_gap(*, seen: Seen, gap: str, hand: Hand) -> Rulebook:
    """Do without what a gap names, by a person's decision with its reason."""
    return _change(
        seen=seen,
        hand=hand,
        change=lambda tables: tables.waive_gap(
            name=gap, by=hand.by, on=hand.at.date(), reason=hand.reason
        ),
        label=f"gap {gap} waived",
    )


def fill_gap(*, seen: Seen, gap: str, hand: Hand) -> Rulebook:
    """Close a gap in which a rule now stands. Raises DraftError while none does."""
    return _change(
        seen=seen,
        hand=hand,
        change=lambda tables: tables.fill_gap(gap),
        label=f"gap {gap} filled",
    )


def open_gap_again(*, seen: Seen, gap: str, hand: Hand) -> Rulebook:
    """Take a waiver back: the gap stands open again."""
    return _change(
        seen=seen,
        hand=hand,
        change=lambda tables: tables.open_gap_again(gap),
        label=f"gap {gap} opened again",
    )


def discard_draft(*, seen: Seen, hand: Hand) -> None:
    """Throw a draft away; the change row keeps its text."""
    with transaction.atomic():
        draft = _locked(seen)
        _tell(draft, hand=hand, before={"text": draft.text}, after={})
        draft.delete()


def _change(*, seen: Seen, hand: Hand, change: Change, label: str) -> Rulebook:
    """Change a draft, read the whole again, and keep it only where it is still a rulebook."""
    with transaction.atomic():
        draft = _locked(seen)
        before = draft.text
        tables = DraftTables.of(before)
        change(tables)
        rulebook = tables.rulebook()
        draft.text, draft.title = tables.text(), rulebook.title[:200]
        draft.sha256, draft.gaps = digest_of(draft.text), list(rulebook.gaps)
        draft.save(update_fields=["text", "title", "sha256", "gaps"])
        told = differences(before, draft.text)
        _tell(draft, hand=hand, before={label: told[0]}, after={label: told[1]})
    return draft


def _locked(seen: Seen) -> Rulebook:
    """Return the draft, held; DraftError where another person changed it meanwhile."""
    rows = Rulebook.objects.select_for_update(of=("self",))
    draft = rows.filter(program=seen.program, pk=seen.draft_id, is_draft=True).first()
    if draft is None:
        raise DraftError("This is no draft any more: an edition in force is never changed.")
    if draft.sha256 != seen.sha256:
        raise DraftError(
            "Somebody changed the draft while you wrote: look at it as it stands now, then again."
        )
    return draft


def differences(before: str, after: str) -> tuple[list[str], list[str]]:
    """Return the lines that only the one text has, and those that only the other has."""
    old, new = before.splitlines(), after.splitlines()
    kept = set(old) & set(new)
    return [line for line in old if line not in kept], [line for line in new if line not in kept]


def digest_of(text: str) -> str:
    """Return the digest by which a text is known."""
    return hashlib.sha256(text.encode()).hexdigest()


def _next_edition(*, program: Program, name: str) -> int:
    """Return an edition no rulebook of that name has, shipped ones included."""
    rows = Rulebook.objects.filter(name=name, program=program)
    rows = rows | Rulebook.objects.filter(name=name, program=None)
    highest = rows.aggregate(highest=Max("edition"))["highest"] or 0
    return int(highest) + 1


def _named(part: str, cells: Mapping[str, Any]) -> str:
    return f"{part} {cells.get('id') or cells.get('key') or cells.get('name') or ''}".strip()


def _tell(
    draft: Rulebook, *, hand: Hand, before: Mapping[str, Any], after: Mapping[str, Any]
) -> None:
    record_change(
        hand=hand,
        what="rulebook draft",
        subject_id=draft.pk,
        label=str(draft),
        before=before,
        after=after,
        program=draft.program,
    )
