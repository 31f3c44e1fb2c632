"""Letters whose printed text is kept in `golden`: of one, three and 300 assemblies, and all others.

After a change of words or looks: `python -m tests.notices.kept_letters`, then read the difference.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from functools import partial
from io import BytesIO
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

from pypdf import PdfReader

from notices.catalogues import words_in
from notices.domain.composing import compose
from notices.domain.content import LetterContent
from notices.domain.kinds import LetterKind
from notices.rendering.letters import RenderedLetter, render
from tests.domain.notices.every_letter import LANGUAGES, MORE
from tests.domain.notices.letters import LINK, brief, item

GOLDEN = Path(__file__).parent / "golden"
COUNTS = (1, 3, 300)
WAYS = (*LANGUAGES, "both")


def letter_for(count: int, *, way: str) -> LetterContent:
    """Return a second overdue notice about so many assemblies, seven at a premises."""
    items = [
        item(serial=f"S{n:04d}", premises_key=str(n // 7), premises=f"{200 + n // 7} Larch Court")
        for n in range(count)
    ]
    made = partial(brief, LetterKind.SECOND_OVERDUE, *items)
    if way != "both":
        return compose(made(), words=words_in(way))
    told = made(second_language="es", is_second_whole=True)
    return compose(told, words=words_in("en"), second_words=words_in("es"))


def letters_beside_the_ladders(language: str) -> Iterator[tuple[str, LetterContent]]:
    """Yield each letter that is no rung's, with the name of its kept text."""
    for samples in MORE:
        for name, content in samples(language):
            yield re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-"), content


def page_texts(letter: RenderedLetter) -> list[str]:
    """Return the text of each page, as a PDF reader takes it out."""
    texts = (page.extract_text() for page in PdfReader(BytesIO(letter.pdf)).pages)
    # Each line keeps its own blank at its end.
    return [re.sub(r" +$", "", t.replace("\u00a0", " "), flags=re.MULTILINE) for t in texts]


def text_of(letter: RenderedLetter) -> str:
    """Return the text of all pages, one after another."""
    return "\n".join(page_texts(letter)).strip()


def kept(path: str) -> str:
    """Return a kept text; one that is missing is told with how it is made."""
    file = GOLDEN / f"{path}.txt"
    if not file.exists():
        return f"golden/{path}.txt is missing: run python -m tests.notices.kept_letters"
    return file.read_text(encoding="utf-8").strip()


def write() -> None:
    """Write every kept text of these letters anew."""
    told = {f"many/{count}-{way}": letter_for(count, way=way) for count in COUNTS for way in WAYS}
    for language in LANGUAGES:
        told |= {f"more/{name}": one for name, one in letters_beside_the_ladders(language)}
    for path, content in told.items():
        file = GOLDEN / f"{path}.txt"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"{text_of(render(content, link=LINK))}\n", encoding="utf-8")
    for file in [*GOLDEN.glob("many/*.txt"), *GOLDEN.glob("more/*.txt")]:
        if f"{file.parent.name}/{file.stem}" not in told:
            file.unlink()


if __name__ == "__main__":
    django.setup()
    write()
