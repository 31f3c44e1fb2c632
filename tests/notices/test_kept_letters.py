"""The printed text of letters of one, three and 300 assemblies, and of those beside the ladders."""

from __future__ import annotations

import shutil
import subprocess
from functools import cache
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from notices.domain.content import LetterContent
from notices.rendering.letters import RenderedLetter, render
from tests.domain.notices.every_letter import LANGUAGES, letters
from tests.domain.notices.letters import LINK
from tests.notices.kept_letters import (
    GOLDEN,
    WAYS,
    kept,
    letter_for,
    letters_beside_the_ladders,
    page_texts,
    text_of,
)
from tests.notices.test_tagging import Read, squeezed


@cache
def content_for(count: int, way: str) -> LetterContent:
    return letter_for(count, way=way)


@cache
def drawn(count: int, way: str) -> RenderedLetter:
    return render(content_for(count, way), link=LINK)


@cache
def pages_of(count: int, way: str) -> list[str]:
    return page_texts(drawn(count, way))


@pytest.mark.parametrize("way", ["en", "es", "both"])
@pytest.mark.parametrize("count", [1, 3])
def test_a_letter_of_few_assemblies_reads_as_kept(count: int, way: str) -> None:
    assert text_of(drawn(count, way)) == kept(f"many/{count}-{way}")


@pytest.mark.parametrize("way", WAYS)
def test_a_letter_of_300_assemblies_reads_as_kept(way: str) -> None:
    assert text_of(drawn(300, way)) == kept(f"many/300-{way}")


def test_300_assemblies_in_both_languages_are_all_listed_in_each_after_all_that_is_said() -> None:
    whole = text_of(drawn(300, "both"))
    assert whole.count("serial S") == whole.count("serie S") == 300
    said, _, lists = whole.partition("\nThe whole list\n")
    assert "Qué hacer" in said
    assert "La lista completa" in lists


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_a_cell_says_in_words_of_ours_begins_with_a_large_letter(language: str) -> None:
    for name, content in letters(language):
        for group in content.table.groups:
            firsts = [cell[0] for row in group.rows for cell in row.cells if cell]
            assert [one for one in firsts if one[:1].islower()] == [], name


@pytest.mark.parametrize("language", LANGUAGES)
def test_letters_beside_the_ladders_read_as_kept(language: str) -> None:
    for name, content in letters_beside_the_ladders(language):
        letter = render(content, link=LINK)
        assert text_of(letter) == kept(f"more/{name}"), name
        assert letter.flags == (), name


def test_no_text_is_kept_of_a_letter_that_is_gone() -> None:
    told = {name for one in LANGUAGES for name, _ in letters_beside_the_ladders(one)}
    assert {path.stem for path in GOLDEN.glob("more/*.txt")} == told


def test_300_assemblies_say_what_to_do_on_the_first_page_and_are_listed_after_it() -> None:
    first, *lists = pages_of(300, "en")
    content = content_for(300, "en")
    for words in (content.steps_heading, *(one.heading for one in content.sections)):
        assert words in first
    assert content.link.shown_address in squeezed(first)
    assert content.table.title == "The whole list"
    rows = sum(page.count("serial S") for page in [first, *lists])
    assert rows == 300
    assert len(lists) == drawn(300, "en").pages - 1


def test_each_page_of_a_long_list_has_the_heads_and_the_premises_of_its_first_row() -> None:
    first, *lists = pages_of(300, "en")
    starts = lists if "serial S" not in first else [first[first.index("The whole list") :], *lists]
    for page in starts:
        _heads, after = page.split("Standing", 1)
        shown = after.strip().splitlines()
        assert shown[0].endswith("Larch Court")  # no row stands under no premises
        ends = [place for place, line in enumerate(shown) if line.startswith("Overdue")]
        assert not any(
            line.endswith("Larch Court") for line in shown[max(ends) :]
        )  # nor title alone


def test_a_long_list_is_tagged_as_one_table_whose_repeated_heads_are_artifacts() -> None:
    content, read = content_for(300, "en"), Read(drawn(300, "en"))
    (table,) = read.of("Table")
    heads = [squeezed(read.text(one)) for one in read.of("TH") if one.A.Scope == "/Column"]
    assert heads == list(content.table.heads)
    titles = [squeezed(read.text(one)) for one in read.of("TH") if "/ColSpan" in one.A]
    assert titles == [group.title for group in content.table.groups]
    assert len(read.of("TR")) == 1 + 300 + len(titles)
    roles = [str(node.S) for node in read.walk() if str(node.S) in {"/L", "/Table", "/Figure"}]
    assert roles == ["/L", "/Figure", "/Table"]  # what to do is read before the list
    assert len(str(squeezed(read.text(table)))) > 10_000


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm is not installed")
@pytest.mark.parametrize(("count", "way"), [(3, "es"), (300, "en"), (3, "both")])
def test_the_qr_of_any_letter_is_read_back_at_150_dots_per_inch(
    count: int, way: str, tmp_path: Path
) -> None:
    path = tmp_path / "letter.pdf"
    path.write_bytes(drawn(count, way).pdf)
    asked = ["pdftoppm", "-r", "150", "-png", "-singlefile", str(path), str(tmp_path / "letter")]
    subprocess.run(asked, check=True)
    with Image.open(tmp_path / "letter.png") as picture:
        assert [code.text for code in zxingcpp.read_barcodes(picture)] == [LINK]
