"""The office's own words for its letters: what is in force, what is drafted, what was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from notices.domain.briefs import Brief
from notices.domain.kinds import ONLY_OF_TESTS, LetterKind, Work
from notices.domain.own_words import BUILT_IN, OwnWords, Part
from notices.models import Wording
from registry.models import Program

IN_FORCE, DRAFT, EARLIER, DROPPED = "in force", "draft", "earlier", "dropped"


@dataclass(frozen=True, slots=True, kw_only=True)
class WordingKey:
    """What a wording is for."""

    work: Work
    kind: LetterKind
    language: str


@dataclass(frozen=True, slots=True)
class OwnWordings:
    """The wordings in force in a program."""

    found: Mapping[WordingKey, OwnWords]

    def of(self, brief: Brief, *, language: str) -> OwnWords:
        """Return the office's words for a letter in a language; without any the built-in ones."""
        key = WordingKey(work=brief.work, kind=brief.kind, language=language)
        return self.found.get(key, BUILT_IN)


def keys_of_letters() -> list[tuple[Work, LetterKind]]:
    """Return every work and kind that a letter may have, as the pages list them."""
    return [
        (work, kind)
        for work in Work
        for kind in LetterKind
        if work is Work.TEST or kind not in ONLY_OF_TESTS
    ]


def wordings_in_force(program: Program) -> OwnWordings:
    """Return the words in force; letters composed from now on have them."""
    rows = Wording.objects.filter(program=program, state=IN_FORCE)
    return OwnWordings({key: own_words_of(row) for row in rows if (key := key_of(row))})


def key_of(row: Wording) -> WordingKey | None:
    """Return what a stored wording is for; None for a kind that is no more."""
    if row.work not in set(Work) or row.kind not in set(LetterKind):
        return None
    return WordingKey(work=Work(row.work), kind=LetterKind(row.kind), language=row.language)


def own_words_of(row: Wording) -> OwnWords:
    """Return a stored wording as a plain value."""
    texts = {part.value: str(row.texts.get(part.value) or "") for part in Part}
    return OwnWords(number=row.number, **texts)


def versions_of(program: Program, *, key: WordingKey) -> list[Wording]:
    """Return every version, the newest first."""
    rows = Wording.objects.filter(
        program=program, work=key.work, kind=key.kind, language=key.language
    )
    return list(rows.order_by("-number"))
