"""A letter threatens only what a citation of its rulebook allows: every kind, every ladder."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from notices.catalogues import words_in
from notices.domain.briefs import Brief, Step
from notices.domain.composing import compose
from notices.domain.content import LetterContent
from notices.domain.kinds import FireLine, LetterKind, Work
from notices.domain.own_words import threats_in
from notices.domain.wording import short_citation
from registry.domain.kinds import Hazard, ServiceKind
from scheduling.domain.ladders import Ladder
from scheduling.domain.matching import Attributes
from scheduling.domain.rulebook_text import read_rulebook
from tests.domain.notices.every_letter import LANGUAGES, briefs

BOOKS = sorted((Path(__file__).parents[3] / "fixtures" / "rulebooks").rglob("*.toml"))
SENTENCE_END = re.compile(r"(?<=[.!?])\s+")


@cache
def ladders(path: Path) -> tuple[Ladder, ...]:
    """Every ladder a rulebook has: for each kind of work, hazard and service."""
    whole = read_rulebook(path.read_text(encoding="utf-8")).ladder
    kinds = {"test", *(kind for rung in whole.rungs for kind in rung.kinds)}
    found = {
        whole.for_kind(kind=kind, attributes=Attributes(hazard=hazard, service=service))
        for kind in sorted(kinds)
        for hazard in Hazard
        for service in ServiceKind
    }
    return tuple(one for one in found if one.rungs)


def steps_of(ladder: Ladder, *, kind: LetterKind) -> tuple[Step, ...] | None:
    """What the ladder states after a kind, as the program hands it to a letter."""
    keys = [rung.words for rung in ladder.rungs]
    if kind not in keys:
        return None
    return tuple(
        Step(
            kind=key,
            gap_days=rung.gap_days if rung.after is not None else None,
            is_courtesy=rung.is_skippable,
            is_certified=rung.channel == "certified",
            needs_person=rung.needs_release,
            citation=rung.citation,
        )
        for key, rung in list(zip(keys, ladder.rungs, strict=True))[keys.index(kind) + 1 :]
    )


def paragraphs_of(content: LetterContent) -> list[str]:
    return [
        " ".join(content.headline),
        content.second_headline,
        *content.paragraphs,
        *content.steps,
        *(text for section in content.sections for text in section.paragraphs),
        content.closing,
        *content.cautions,
    ]


def letters_of(path: Path, language: str) -> Iterator[tuple[Brief, LetterContent]]:
    for ladder in ladders(path):
        for _name, one in briefs():
            ahead = steps_of(ladder, kind=one.kind)
            if ahead is not None:
                cited = next(rung.citation for rung in ladder.rungs if rung.words == one.kind)
                told = replace(one, ahead=ahead, citation=cited)
                yield told, compose(told, words=words_in(language))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("path", BOOKS, ids=[path.stem for path in BOOKS])
def test_a_threat_stands_only_beside_the_citation_of_its_rung(path: Path, language: str) -> None:
    read = 0
    for brief, content in letters_of(path, language):
        read += 1
        orders = [step for step in brief.ahead if step.kind == LetterKind.SHUTOFF_ORDER]
        is_order = brief.kind is LetterKind.SHUTOFF_ORDER
        heads = (" ".join(content.headline), content.second_headline)
        said = " ".join(paragraphs_of(content))
        for text in paragraphs_of(content):
            if not threats_in(text, language=language):
                continue
            spared = "dedicated fire line" in text or "l\u00ednea dedicada" in text
            if is_order or (spared and "order" not in text and "orden" not in text):
                continue
            assert orders, (content.title, text)
            assert brief.work is Work.TEST, text
            named = [short_citation(step.citation) for step in orders]
            place = said if text in heads else text  # a headline is cited below it
            assert any(citation in place for citation in named), text
    spoken = {rung.words for ladder in ladders(path) for rung in ladder.rungs}
    assert read or not spoken & set(LetterKind)


def test_an_order_itself_names_its_source() -> None:
    for path in BOOKS:
        for brief, content in letters_of(path, "en"):
            if brief.kind is LetterKind.SHUTOFF_ORDER:
                (ahead,) = [s for s in content.sections if s.heading == "What happens next"]
                assert f"({short_citation(brief.citation)})" in " ".join(ahead.paragraphs)


def test_the_ladders_read_hold_some_with_an_order_and_some_without() -> None:
    keys = [{rung.key for rung in ladder.rungs} for path in BOOKS for ladder in ladders(path)]
    assert any("shutoff-order" in one for one in keys)
    assert any("shutoff-order" not in one for one in keys)


def test_a_threat_without_its_rung_would_be_found() -> None:
    for sentence in (
        "an order to shut off water may be prepared.",
        "A penalty follows.",
        "A fee of 50 dollars is owed.",
    ):
        assert threats_in(sentence, language="en")
    assert threats_in("puede prepararse una orden de corte de agua.", language="es")


def test_no_order_is_spoken_of_for_a_dedicated_fire_line() -> None:
    for path in BOOKS:
        for ladder in ladders(path):
            for _name, one in briefs():
                ahead = steps_of(ladder, kind=one.kind)
                if ahead is None or one.kind is LetterKind.SHUTOFF_ORDER:
                    continue
                items = tuple(replace(item, fire=FireLine.DEDICATED) for item in one.items)
                content = compose(replace(one, items=items, ahead=ahead), words=words_in("en"))
                assert not any("an order to shut off" in text for text in paragraphs_of(content))
