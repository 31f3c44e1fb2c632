"""The pages people read say what the program does: every command, setting, check and link."""

from __future__ import annotations

import re

from django.conf import settings
from django.core.management import get_commands

from tests.own_database import ROOT
from tests.test_house import FLOORS, texts


def document(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def test_every_command_of_ours_is_described_and_none_besides() -> None:
    ours = {name for name, app in get_commands().items() if app in FLOORS}
    described = set(re.findall(r"^\| `([a-z_]+)", document("docs/commands.md"), re.MULTILINE))
    assert ours == described


def test_every_setting_is_described() -> None:
    page = document("docs/settings.md")
    missing = [name for name in settings.ENVIRONMENT.known if not _is_named(name, page=page)]
    assert missing == []


def _is_named(name: str, *, page: str) -> bool:
    # A family is written once: `WATERCLERK_SMTP_HOST`, `_PORT`, …
    return f"`{name}`" in page or f"`_{name.rsplit('_', 1)[-1]}`" in page


def test_every_check_is_described() -> None:
    raised = set(re.findall(r'id="(waterclerk\.\w+)"', document("config/checks.py")))
    described = set(re.findall(r"`(waterclerk\.[EW]\d+)`", document("docs/settings.md")))
    assert raised == described


def test_the_readme_is_short_enough_to_be_read() -> None:
    assert len(document("README.md").splitlines()) < 120


def test_every_file_that_a_page_links_to_exists() -> None:
    broken = [
        f"{path}: {target}"
        for path, text in texts()
        if path.suffix == ".md"
        for target in re.findall(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)", text)
        if not (ROOT / path.parent / target).exists()
    ]
    assert broken == []


def test_every_make_target_that_a_page_names_exists() -> None:
    targets = set(re.findall(r"^([a-z]+):", document("Makefile"), re.MULTILINE))
    named = {
        target
        for name in ("README.md", "DEVELOPERS.md", "docs/commands.md")
        for target in re.findall(r"`make ([a-z]+)", document(name))
    }
    assert named <= targets


def test_every_test_and_rulebook_named_in_the_page_of_coverage_exists() -> None:
    named = set(re.findall(r"`([a-z0-9_-]+)`", document("docs/coverage.md")))
    tests = (ROOT / "tests").rglob("test_*.py")
    there = {
        name
        for path in tests
        for name in re.findall(r"^\s*def (test_\w+)", path.read_text("utf-8"), re.MULTILINE)
    }
    there |= {path.stem for path in (ROOT / "fixtures/rulebooks").rglob("*.toml")}
    assert len(named) > 80
    assert sorted(named - there) == []
