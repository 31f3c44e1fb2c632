"""Letters that ask for protection of a service or a survey say what the citation gives."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from notices.catalogues import words_in
from notices.domain.briefs import Brief, Item
from notices.domain.composing import compose
from notices.domain.content import LetterContent, content_from_plain
from notices.domain.kinds import FireLine, Work
from notices.domain.owing import OwedNotice, into_letters, urgency_of
from tests.domain.notices.letters import brief

TABLE_12 = "WAC 246-290-490(4)(b), table 12: what it says"
LACKS = Item(
    premises_key="1",
    premises="230 Larch Court",
    due_on=date(2025, 12, 3),
    service="domestic",
    hazard="high",
    work=Work.PROTECTION,
    there=("DC",),
    allowed=("RP", "RPDA", "AG"),
    asks_source=TABLE_12,
)
SURVEY = Item(
    premises_key="1",
    premises="230 Larch Court",
    due_on=date(2025, 12, 3),
    hazard="not assessed",
    last_passed_on=date(2023, 12, 3),
    work=Work.SURVEY,
    citation="35 IAC 604.1510: survey of customers every 2 years",
)
KINDS = ("test-owed", "reminder", "second-reminder", "first-overdue", "second-overdue", "final")


def of(kind: str, one: Item, **changes: Any) -> LetterContent:
    return compose(of_brief(kind, one, **changes), words=words_in("en"))


def of_brief(kind: str, one: Item, **changes: Any) -> Brief:
    return brief(kind, Item(**{**_plain(one), **changes}))


def _plain(one: Item) -> dict[str, Any]:
    return {name: getattr(one, name) for name in Item.__dataclass_fields__}


def everything(content: LetterContent) -> str:
    cells = [
        " ".join(" ".join(c) for c in row.cells) for g in content.table.groups for row in g.rows
    ]
    sections = [text for section in content.sections for text in section.paragraphs]
    return " ".join(
        [*content.headline, *content.paragraphs, *content.table.heads, *cells, *content.steps,
         *sections, *content.cautions]
    )  # fmt: skip


def test_a_letter_about_protection_names_what_is_there_what_protects_and_the_source() -> None:
    content = of("test-owed", LACKS)
    assert content.title == "Notice of protection owed"
    assert content.headline == (
        "A water service at 230 Larch Court needs backflow protection.",
        "Have it installed by December\N{NO-BREAK SPACE}3, 2025.",
    )
    (row,) = content.table.groups[0].rows
    assert row.cells[:3] == (("Domestic", "high hazard"), ("DC",), ("RP, RPDA or AG",))
    assert "WAC 246-290-490(4)(b), table 12)" in content.paragraphs[0]


def test_a_hazard_nobody_assessed_is_never_called_high() -> None:
    content = of("test-owed", LACKS, hazard="not assessed")
    said = everything(content)
    assert "high" not in said.lower()
    assert "hazard not yet assessed" in said
    assert "Nobody has assessed the hazard yet" in content.paragraphs[0]
    assert "Nobody has assessed" not in everything(of("test-owed", LACKS))


def test_a_letter_about_a_survey_asks_for_a_day() -> None:
    content = of("reminder", SURVEY)
    assert content.headline == (
        "A survey of the plumbing at 230 Larch Court is due.",
        "Agree with us on a day before December\N{NO-BREAK SPACE}3, 2025.",
    )
    (row,) = content.table.groups[0].rows
    assert row.cells[2] == ("December\N{NO-BREAK SPACE}3, 2023",)
    assert content.cautions == ()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("one", [LACKS, SURVEY], ids=["protection", "survey"])
def test_no_letter_about_a_service_or_a_premises_speaks_of_a_test_or_of_an_order(
    kind: str, one: Item
) -> None:
    # no citation at hand lets such a letter announce a shutoff, and no order is prepared for one
    said = everything(of(kind, one)).lower()
    assert "shut off" not in said.replace("water is shut", "")
    assert "order to" not in said
    for word in (" test ", " tests ", "tester", "passing"):
        assert word not in said


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("one", [LACKS, SURVEY], ids=["protection", "survey"])
def test_every_sentence_has_its_spanish(kind: str, one: Item) -> None:
    english = compose(of_brief(kind, one), words=words_in("en"))
    spanish = compose(of_brief(kind, one), words=words_in("es"))
    for name in ("title", "headline", "steps", "steps_heading"):
        assert getattr(english, name) != getattr(spanish, name), name
    assert not set(english.steps) & set(spanish.steps)
    assert not set(english.cautions) & set(spanish.cautions)
    assert english.paragraphs[0].split(".")[0] != spanish.paragraphs[0].split(".")[0]


def test_work_on_a_fire_line_says_whom_to_tell() -> None:
    content = of("test-owed", LACKS, service="fire", fire=FireLine.DEDICATED)
    assert content.cautions[0].startswith("Fire line: tell the fire department")


def test_tests_and_protection_of_one_owner_go_in_letters_of_their_own() -> None:
    def owed(number: int, work: Work) -> OwedNotice:
        urgency = urgency_of(
            obligation_id=number, is_high=False, has_failed=False, late_from=date(2025, 1, 1)
        )
        return OwedNotice(
            obligation_id=number, assembly_id=None, premises_id=1, rung="first-overdue",
            occurrence="1", owed_on=date(2025, 1, 2), recipient_key="p1", urgency=urgency,
            channel="mail", citation="", work=work,
        )  # fmt: skip

    groups = into_letters([owed(1, Work.TEST), owed(2, Work.PROTECTION), owed(3, Work.PROTECTION)])
    assert sorted(len(group.owed) for group in groups) == [1, 2]


def test_a_letter_kept_as_plain_values_says_what_it_asked_for() -> None:
    content = of("final", LACKS)
    assert content_from_plain(content.to_plain()) == content
    plain = content.to_plain()
    del plain["work"]  # letters kept before say nothing: they asked for tests
    assert content_from_plain(plain).work == "test"
