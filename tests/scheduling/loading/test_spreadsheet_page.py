"""The page on spreadsheets says what is read, and nothing besides."""

import re
from pathlib import Path

from django.conf import settings

from registry.domain.fields import EXPORTED, RegistryField
from registry.domain.header_synonyms import REGISTRY_HEADERS
from registry.domain.headers import recognise

PAGE = Path(settings.BASE_DIR) / "docs" / "spreadsheets.md"
WORKED_OUT = {RegistryField.STANDING, RegistryField.OPENS_ON, RegistryField.DUE_ON}


def table() -> dict[str, list[str]]:
    rows = re.findall(r"^\| `(\w+)` \| (.+) \|$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    return {field: said.split(", ") for field, said in rows}


def test_the_table_has_every_field_that_is_exported_and_not_worked_out() -> None:
    assert list(table()) == [field.value for field in EXPORTED if field not in WORKED_OUT]


def test_every_header_the_page_names_is_read_as_its_field() -> None:
    for field, headers in table().items():
        for header in headers:
            found = recognise(headers=[header], synonyms=REGISTRY_HEADERS, saved={})
            assert found.public() == {header: field}
