"""One sample of every letter there is, in either language: for tests that read them all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from notices.catalogues import words_in
from notices.domain.briefs import Brief, Item
from notices.domain.composing import compose
from notices.domain.content import LetterContent
from notices.domain.kinds import BEFORE_DUE_KINDS, ONLY_OF_TESTS, FireLine, LetterKind, Work
from tests.domain.notices.answer_letters import answers
from tests.domain.notices.lapse_samples import lapse_letters
from tests.domain.notices.letters import ITEM, brief
from tests.domain.notices.mend_samples import mend_letters
from tests.domain.notices.order_samples import order_letters
from tests.domain.notices.test_other_work import LACKS, SURVEY
from tests.domain.reports.appointment_samples import appointment_letters

LANGUAGES = ("en", "es")
WITH_EVERY_CAUTION: dict[str, Any] = {
    "in_vault": True,
    "has_tenants": True,
    "has_medical_supply": True,
}

Sample = tuple[str, LetterContent]
"""What it is, for the name of a test, and the letter."""

MORE: list[Callable[[str], Iterator[Sample]]] = [
    lapse_letters,
    mend_letters,
    order_letters,
    answers,
    appointment_letters,
]
"""Samples of letters that are no rung's, by language: whoever adds such a letter adds them here."""


def briefs() -> Iterator[tuple[str, Brief]]:
    """Yield a brief of each kind for each work, for one thing and for two with every caution."""
    for work, one in ((Work.TEST, ITEM), (Work.PROTECTION, LACKS), (Work.SURVEY, SURVEY)):
        for kind in LetterKind:
            if work is not Work.TEST and kind in ONLY_OF_TESTS:
                continue
            for name, items in (("one", (_of(one, kind=kind),)), ("two", _two(one, kind=kind))):
                yield f"{work}, {kind}, {name}", brief(kind, *items)


def letters(language: str) -> Iterator[Sample]:
    """Yield every letter whole in one language."""
    for name, one in briefs():
        yield f"{name}, {language}", compose(one, words=words_in(language))
    for more in MORE:
        yield from more(language)


def _of(one: Item, *, kind: LetterKind) -> Item:
    if kind is LetterKind.REPAIR:
        return replace(one, failed_on=date(2025, 11, 2), cure_by=date(2025, 11, 23))
    late = kind not in BEFORE_DUE_KINDS
    return replace(one, due_on=date(2025, 11, 1) if late else date(2025, 12, 18))


def _two(one: Item, *, kind: LetterKind) -> tuple[Item, ...]:
    every = replace(_of(one, kind=kind), fire=FireLine.COMBINED, **WITH_EVERY_CAUTION)
    if kind is LetterKind.REPAIR:
        cut: dict[str, Any] = {"untested_on": every.failed_on, "valve": "shutoff valve 2"}
        return (every, replace(every, serial="C4-77120", **cut))
    return (every, replace(every, serial="C4-77120", premises_key="2", premises="9 Elm Street"))
