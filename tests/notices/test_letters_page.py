"""docs/letters.md names every kind and the paper's true measures; the catalogue is compiled."""

from __future__ import annotations

import gettext
import re
from pathlib import Path

from notices.catalogues import FOLDER
from notices.domain.kinds import LetterKind
from notices.rendering.paper import US_LETTER

ROOT = Path(__file__).resolve().parent.parent.parent
PAGE = (ROOT / "docs" / "letters.md").read_text(encoding="utf-8")
CATALOGUE = FOLDER / "es" / "LC_MESSAGES" / "django.po"


def figure(what: str) -> list[float]:
    (row,) = re.findall(rf"^\| {re.escape(what)} \| (.+) \|$", PAGE, re.MULTILINE)
    return [float(number) for number in re.findall(r"[\d.]+", row)]


def test_the_page_names_every_kind() -> None:
    assert all(f"`{kind}`" in PAGE for kind in LetterKind)


def test_the_page_gives_the_measures_that_are_drawn() -> None:
    seen = US_LETTER.window_sure
    assert figure("text begins") == [US_LETTER.text_top]
    assert figure("first baseline of the address") == [US_LETTER.address_first_baseline]
    assert figure("fold marks") == list(US_LETTER.fold_marks)
    assert figure("always seen through the window, x") == [seen.left, seen.right]
    assert figure("always seen through the window, y") == [seen.top, seen.bottom]


def test_the_window_follows_from_the_envelope_and_the_slip_of_the_sheet() -> None:
    # #10: 241.3 x 104.8 mm; window 114.3 x 28.6, 22.2 from the left, 12.7 from the bottom.
    # Sheet folded in three: 215.9 x 93.1 mm. Slack: 25.4 mm sideways, 11.6 mm up.
    def pt(mm: float) -> float:
        return mm * 72 / 25.4

    panel = 279.4 / 3
    bottom = panel - 12.7  # of the folded sheet, when it lies at the envelope's bottom
    seen = US_LETTER.window_sure
    assert abs(seen.left - pt(22.2)) < 1
    assert abs(seen.right - pt(22.2 + 114.3 - 25.4)) < 1
    assert abs(seen.bottom - pt(bottom)) < 1
    assert abs(seen.top - pt(bottom - 28.6 + 11.6)) < 1


def test_the_compiled_catalogue_holds_what_the_source_says() -> None:
    spanish = gettext.translation("django", str(FOLDER), languages=["es"])
    source = CATALOGUE.read_text(encoding="utf-8")
    pairs = re.findall(r'^msgid "(.+)"\nmsgstr "(.+)"$', source, re.MULTILINE)
    assert len(pairs) > 40
    for english, translated in pairs:
        assert spanish.gettext(english) == translated, english
    plurals = re.findall(
        r'^msgid "(.+)"\nmsgid_plural "(.+)"\nmsgstr\[0\] "(.+)"\nmsgstr\[1\] "(.+)"$',
        source,
        re.MULTILINE,
    )
    assert len(plurals) > 10
    for one, many, translated_one, translated_many in plurals:
        assert spanish.ngettext(one, many, 1) == translated_one
        assert spanish.ngettext(one, many, 2) == translated_many


def test_translations_keep_their_fields() -> None:
    source = CATALOGUE.read_text(encoding="utf-8")
    for english, translated in re.findall(
        r'^msgid "(.+)"\nmsgstr(?:\[0\])? "(.+)"$', source, re.MULTILINE
    ):
        assert set(re.findall(r"%\((\w+)\)s", english)) == set(
            re.findall(r"%\((\w+)\)s", translated)
        ), english
