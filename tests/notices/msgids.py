"""Every message that letters, e-mails and owner pages hand to the catalogue, read from the code."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("notices", "reports")
ONE = frozenset({"gettext", "N_", "say", "tell"})
"""Calls whose first argument is a message: the catalogue's own, and what the code names it."""


def messages() -> Iterator[tuple[str, str, str]]:
    """Yield a message, its plural or nothing, and where it stands."""
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*.py")):
            text = path.read_text()
            if "gettext" in text or "N_(" in text:
                yield from _of(ast.parse(text), where=str(path.relative_to(ROOT)))


def _of(tree: ast.AST, *, where: str) -> Iterator[tuple[str, str, str]]:
    in_pairs: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _name(node) == "Pair" and len(node.args) == 2:
            calls = [arg for arg in node.args if isinstance(arg, ast.Call)]
            told = [text for call in calls for text in _texts(call)]
            if len(told) == 2:
                in_pairs |= {id(call) for call in calls}
                yield told[0], told[1], f"{where}:{node.lineno}"
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call) or id(node) in in_pairs:
            continue
        texts = _texts(node)
        if _name(node) == "ngettext" and len(texts) >= 2:
            yield texts[0], texts[1], f"{where}:{node.lineno}"
        elif _name(node) in ONE and texts:
            yield texts[0], "", f"{where}:{node.lineno}"


def _name(call: ast.Call) -> str:
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


def _texts(call: ast.Call) -> list[str]:
    return [
        arg.value
        for arg in call.args
        if isinstance(arg, ast.Constant) and isinstance(arg.value, str)
    ]
