"""Every sentence of letters, e-mails and owner pages has its Spanish, and none is left over."""

from __future__ import annotations

import re
from gettext import GNUTranslations
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from notices.catalogues import FOLDER, SECOND_LANGUAGES
from tests.notices.msgids import ROOT, messages

PO = Path(FOLDER) / "es" / "LC_MESSAGES" / "django.po"
MARK = re.compile(r"%\((\w+)\)s")


def catalogue() -> dict[Any, str]:
    found: dict[Any, str] = GNUTranslations(BytesIO(PO.with_suffix(".mo").read_bytes()))._catalog  # type: ignore[attr-defined]
    return found


def of(message: str, *, place: int = 0) -> str:
    found = catalogue()
    return found.get(message) or found.get((message, place)) or ""


def test_every_message_has_its_spanish() -> None:
    told = catalogue()
    lacking = {
        f"{where}: {one}"
        for one, many, where in messages()
        if not (told.get((one, 0)) and told.get((one, 1)) if many else of(one))
    }
    assert lacking == set()


def test_a_message_without_spanish_would_be_found() -> None:
    everything = [one for one, _, _ in messages()]
    assert len(set(everything)) > 150
    assert "If you disagree" in everything
    assert of("A sentence that nobody wrote.") == ""


def test_the_compiled_catalogue_is_that_of_the_text() -> None:
    # A fuzzy entry is not compiled, so it would be lacking above; none is kept either.
    text = PO.read_text(encoding="utf-8")
    assert "fuzzy" not in text
    assert "not reviewed by a native speaker" in text.lower()
    entries = re.findall(r'^msgid "(.+)"$', text, re.MULTILINE)
    assert len(entries) == len(set(entries))
    compiled = {key if isinstance(key, str) else key[0] for key in catalogue()} - {""}
    assert {entry.replace('\\"', '"').replace("\\n", "\n") for entry in entries} == compiled


@pytest.mark.parametrize("place", [0, 1])
def test_every_translation_has_the_fields_of_its_message(place: int) -> None:
    for one, many, where in messages():
        source = many if many and place else one
        assert set(MARK.findall(of(one, place=place))) == set(MARK.findall(source)), where


def test_owner_pages_hold_no_words_of_their_own() -> None:
    """Their templates print only what the catalogue was asked for; the program's name stands."""
    folders = (
        ROOT / "notices/templates/notices/owner",
        ROOT / "reports/templates/reports/certificates",
    )
    found = [path for folder in folders if folder.exists() for path in folder.rglob("*.html")]
    found += [ROOT / "notices/templates/notices/mail.html"]
    found += [ROOT / "notices/templates/notices/mail_part.html"]
    assert len(found) >= 6
    for path in found:
        text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}|<[^>]*>", " ", path.read_text(), flags=re.DOTALL)
        assert not set(re.findall(r"[A-Za-z]{2,}", text)) - {"Waterclerk", "doctype", "html"}, path


def test_the_languages_spoken_are_those_with_a_catalogue() -> None:
    kept = {path.name for path in Path(FOLDER).iterdir() if path.is_dir()}
    assert kept == set(SECOND_LANGUAGES)
