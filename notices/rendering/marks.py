"""Marks what is drawn with its part in the text, so that a screen reader can follow it.

ReportLab writes no structure of its own. Here each piece of text is drawn between marks
(ISO 32000-1, 14.6) that name an element; the elements' tree, in reading order, is written
into the file afterwards (`notices.rendering.tagging`). What is drawn outside any element is
marked as an artifact: rules, folds, what repeats on every sheet.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any


@dataclass(slots=True, eq=False)
class Element:
    """One element of the structure: its role, its parts in order, and where it was drawn."""

    role: str
    tree: Tree
    children: list[Element] = field(default_factory=list)
    drawn: list[tuple[int, int]] = field(default_factory=list)
    """Page, counted from 0, and the number of the mark on it."""

    scope: str = ""
    columns: int = 1
    alt: str = ""
    box: tuple[float, float, float, float] | None = None
    language: str = ""
    title: str = ""

    def add(self, role: str, **more: Any) -> Element:
        """Return a new element, the next part of this one."""
        made = Element(role, self.tree, **more)
        self.children.append(made)
        return made


class Tree:
    """The structure of one document, and the marks handed out on each page."""

    def __init__(self) -> None:
        self.root = Element("Document", self)
        self._next: defaultdict[int, int] = defaultdict(int)

    def take(self, page: int) -> int:
        """Return the next mark's number on a page."""
        number = self._next[page]
        self._next[page] += 1
        return number


@contextmanager
def drawn_as(canvas: Any, element: Element | None) -> Iterator[None]:
    """Mark what is drawn meanwhile as part of an element; without one as an artifact."""
    # Marks have no public way into ReportLab's canvas.
    if element is None:
        canvas._code.append("/Artifact BMC")
    else:
        page = canvas.getPageNumber() - 1
        number = element.tree.take(page)
        element.drawn.append((page, number))
        canvas._code.append(f"/{element.role} <</MCID {number}>> BDC")
    try:
        yield
    finally:
        canvas._code.append("EMC")
