"""Habits of the house that no linter sees: floors in strings, pure rules, nothing foreign."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

import pytest
from django.apps import apps

from tests.own_database import ROOT

FLOORS = ("registry", "scheduling", "notices", "reports", "config")
APPS = FLOORS[:-1]
LONGEST_FUNCTION = 50
LONGEST_FILE = 300

# Written in two halves, so that this file does not break its own rule.
FOREIGN = {
    "a package registry": ("pypi" + r"\.org", "python" + r"hosted\.org", "npm" + r"js\.(org|com)"),
    "an index option": ("--index" + "-url", "--extra-index" + "-url", "--find" + "-links"),
    "a path of one machine": (r"/wo" + r"rk/\w", r"/ho" + r"me/\w", r"/ro" + r"ot/\w"),
    "a folder beside the project": (r"\.\./sha" + "red", r"/tmp/" + r"\w"),
}
WORDS_OF_OTHER_TRADES = ("port" + "al", "non-" + "compliant")
CLOCKS = {"today", "now", "utcnow", "localdate", "localtime", "time_ns", "monotonic"}
CLOCK_OWNERS = {"date", "datetime", "time", "timezone"}
NUMERIC = {"levelling", "trends", "risk", "travel"}


def tracked_files() -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def texts() -> Iterator[tuple[Path, str]]:
    for path in tracked_files():
        try:
            yield path.relative_to(ROOT), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


def code_files(*folders: str) -> list[Path]:
    return [path for path in tracked_files() if path.suffix == ".py" and _inside(path, folders)]


def _inside(path: Path, folders: tuple[str, ...]) -> bool:
    return str(path.relative_to(ROOT)).startswith(tuple(f"{folder}/" for folder in folders))


def domain_files() -> list[Path]:
    return code_files(*(f"{app}/domain" for app in APPS))


@pytest.mark.parametrize("what", FOREIGN)
def test_no_file_names(what: str) -> None:
    # pip-compile is told to leave the index settings out: there the options are named.
    allowed = {"an index option": {Path("Makefile"), Path("DEVELOPERS.md")}}.get(what, set())
    found = [
        f"{path}: {match.group()}"
        for path, text in texts()
        if path not in allowed
        for pattern in FOREIGN[what]
        if (match := re.search(pattern, text, re.IGNORECASE))
    ]
    assert found == []


def test_the_glossary_keeps_its_unused_words_out_of_code_and_pages() -> None:
    pattern = re.compile(rf"\b({'|'.join(WORDS_OF_OTHER_TRADES)})\b", re.IGNORECASE)
    found = [
        f"{path}: {match.group()}"
        for path, text in texts()
        if path.suffix in {".py", ".html", ".toml"} and (match := pattern.search(text))
    ]
    assert found == []


def test_no_model_points_to_a_floor_above_its_own() -> None:
    upward = [
        f"{model._meta.label}.{field.name}"
        for app in APPS
        for model in apps.get_app_config(app).get_models()
        for field in model._meta.get_fields()
        if (there := field.related_model) is not None
        and not field.auto_created
        and not isinstance(there, str)
        and there._meta.app_label in FLOORS
        and FLOORS.index(there._meta.app_label) > FLOORS.index(app)
    ]
    assert upward == []


def test_no_template_includes_one_from_a_floor_above_its_own() -> None:
    pattern = re.compile(r"{%\s*(?:include|extends)\s+[\"']([^\"'/]+)/")
    upward = [
        f"{path}: {floor}"
        for path, text in texts()
        if path.suffix in {".html", ".txt"} and path.parts[0] in APPS
        for floor in pattern.findall(text)
        if floor in APPS and FLOORS.index(floor) > FLOORS.index(path.parts[0])
    ]
    assert upward == []


def test_a_domain_imports_only_the_standard_library_dateutil_and_domains_below() -> None:
    foreign = [
        f"{path.relative_to(ROOT)}: {name}"
        for path in domain_files()
        for name in imported_names(path)
        if not _is_allowed(name, path=path)
    ]
    assert foreign == []


def _is_allowed(name: str, *, path: Path) -> bool:
    top, *rest = name.split(".")
    if top in APPS:
        here = path.relative_to(ROOT).parts[0]
        return rest[:1] == ["domain"] and APPS.index(top) <= APPS.index(here)
    if top in {"numpy", "scipy"}:
        return path.stem in NUMERIC
    return top == "dateutil" or top in sys.stdlib_module_names


def imported_names(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield node.module or ""


def test_no_rule_reads_a_clock() -> None:
    readings = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.func.attr}()"
        for path in domain_files()
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in CLOCKS
        and ast.unparse(node.func.value).split(".")[-1] in CLOCK_OWNERS
    ]
    assert readings == []


def test_no_function_is_longer_than_a_screen() -> None:
    long_ones = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name}"
        for path in code_files(*FLOORS)
        if "migrations" not in path.parts
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef)
        and (node.end_lineno or node.lineno) - node.lineno >= LONGEST_FUNCTION
    ]
    assert long_ones == []


def test_no_file_holds_more_than_one_idea_could_fill() -> None:
    long_ones = [
        f"{path.relative_to(ROOT)}: {length}"
        for path in code_files(*FLOORS)
        if "migrations" not in path.parts
        and (length := len(path.read_text().splitlines())) > LONGEST_FILE
    ]
    assert long_ones == []


def test_no_module_is_named_for_everything() -> None:
    empty_names = {"utils", "util", "helpers", "misc", "common", "manager", "service", "services"}
    found = [path for path in code_files(*FLOORS) if {path.stem, *path.parts} & empty_names]
    assert found == []


def test_nothing_listens_to_signals_or_hides_work_in_save() -> None:
    pattern = re.compile(r"django\.(db\.models|dispatch|core)\.?\w* import .*signal|\bdef save\(")
    hidden = [
        str(path.relative_to(ROOT))
        for path in code_files(*APPS)
        if "models" in path.parts and pattern.search(path.read_text())
    ]
    assert hidden == []


def test_every_pin_carries_a_hash() -> None:
    lines = (ROOT / "constraints.txt").read_text().splitlines()
    pins = [number for number, line in enumerate(lines) if re.match(r"^[A-Za-z0-9]", line)]
    assert len(pins) > len(APPS)
    assert all("==" in lines[at] and "--hash=sha256:" in lines[at + 1] for at in pins)


def test_every_dependency_asked_for_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = [*project["dependencies"], *chain(*project["optional-dependencies"].values())]
    pinned = (ROOT / "constraints.txt").read_text()
    names = [re.match(r"[A-Za-z0-9._-]+", wish) for wish in asked]
    missing = [
        found.group()
        for found in names
        if found and f"\n{re.sub(r'[-_.]+', '-', found.group()).lower()}==" not in pinned
    ]
    assert missing == []


def test_migrations_import_nothing_of_ours() -> None:
    bound = [
        f"{path.relative_to(ROOT)}: {name}"
        for path in code_files(*(f"{app}/migrations" for app in APPS))
        for name in imported_names(path)
        if name.split(".")[0] in FLOORS
    ]
    assert bound == []


def test_no_recipe_of_the_makefile_hides_an_exit_code_behind_a_pipe() -> None:
    recipes = [
        line for line in (ROOT / "Makefile").read_text().splitlines() if line.startswith("\t")
    ]
    # `help` only lists the targets: nothing of it can fail that anybody would miss.
    piped = [line for line in recipes if re.search(r"[^|]\|[^|]", line) and "expand" not in line]
    assert piped == []
