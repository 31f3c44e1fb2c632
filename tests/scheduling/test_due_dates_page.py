"""The page on due dates shows what the calculator really answers."""

from __future__ import annotations

import io
import re
from pathlib import Path

from django.core.management import call_command

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "due-dates.md").read_text(encoding="utf-8")


def block(kind: str) -> str:
    found = re.search(rf"```{kind}\n(.*?)```", PAGE, re.DOTALL)
    assert found is not None
    return found[1]


def test_the_example_gives_the_answer_printed_beside_it(tmp_path: Path) -> None:
    sheet = tmp_path / "facts.csv"
    sheet.write_text(block("csv"), encoding="utf-8")
    out = io.StringIO()
    call_command(
        "replay_facts",
        str(sheet),
        "--rulebook",
        "plain-rolling",
        "--as-of",
        "2025-05-10",
        stdout=out,
    )
    said = out.getvalue().splitlines()
    for line in block("text").splitlines():
        assert line in said


def test_every_module_it_names_is_there() -> None:
    named = set(re.findall(r"`([a-z_]+\.py)`", PAGE))
    assert len(named) >= 9
    for name in named:
        assert (ROOT / "scheduling" / "domain" / name).exists(), name
