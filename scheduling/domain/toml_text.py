"""Tables as TOML text: what a draft is kept as, read back equal."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

Tables = Mapping[str, Any]

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(tables: Tables) -> str:
    """Return tables as TOML: words first, then each table, then each list of tables.

    Holds words, whole numbers, true and false, days, lists of words, and tables one level
    down or two. Example: `{"name": "x", "cure": [{"days": 7}]}` becomes `name = "x"` and a
    `[[cure]]` of its own.
    """
    return "\n".join(_lines(tables, path=())).strip() + "\n"


def _lines(tables: Tables, *, path: tuple[str, ...]) -> Iterator[str]:
    for key, value in tables.items():
        if not _is_table(value) and not _is_list_of_tables(value):
            yield f"{_key(key)} = {_cell(value)}"
    for key, value in tables.items():
        name = ".".join(_key(one) for one in (*path, key))
        if _is_table(value):
            yield from ("", f"[{name}]")
            yield from _lines(value, path=(*path, key))
        elif _is_list_of_tables(value):
            for one in value:
                yield from ("", f"[[{name}]]")
                yield from _lines(one, path=(*path, key))


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _word(key)


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping)


def _is_list_of_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(_is_table(one) for one in value)


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return str(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(_cell(one) for one in value)}]"
    return _word(str(value))


def _word(text: str) -> str:
    """Quote a word; JSON escapes what TOML's basic strings do, but for the delete sign."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
