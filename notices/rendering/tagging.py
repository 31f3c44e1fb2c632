"""Writes the structure into a drawn PDF: tags, language, title, bookmarks (ISO 32000-1, 14.7).

Made after PDF/UA-1's rules as far as they can be checked here; nothing claims that it conforms.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from pikepdf import Array, Dictionary, Name, ObjectStreamMode, OutlineItem, Pdf, String

from notices.rendering.font_tables import needed_tables
from notices.rendering.marks import Element, Tree

_HEADINGS = ("H1", "H2")


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What a document says of itself."""

    title: str
    author: str
    language: str


def tagged(pdf: bytes, *, tree: Tree, about: About) -> bytes:
    """Return the PDF with its structure; the same PDF and tree give the same bytes."""
    with Pdf.open(BytesIO(pdf)) as made:
        _structure(made, tree=tree)
        made.Root.MarkInfo = Dictionary(Marked=True)
        made.Root.Lang = String(about.language)
        made.Root.ViewerPreferences = Dictionary(DisplayDocTitle=True)
        _metadata(made, about=about)
        _bookmarks(made, tree=tree)
        _lighten_fonts(made)
        stream = BytesIO()
        made.save(
            stream,
            deterministic_id=True,
            object_stream_mode=ObjectStreamMode.generate,
            recompress_flate=False,
        )
    return stream.getvalue()


def _structure(made: Pdf, *, tree: Tree) -> None:
    pages = [page.obj for page in made.pages]
    root = made.make_indirect(Dictionary(Type=Name.StructTreeRoot))
    by_page: defaultdict[int, dict[int, Any]] = defaultdict(dict)
    root.K = _element(made, tree.root, parent=root, pages=pages, by_page=by_page)
    numbers = Array()
    for index, page in enumerate(pages):
        page.StructParents = index
        page.Tabs = Name.S
        marks = by_page[index]
        numbers.append(index)
        numbers.append(made.make_indirect(Array([marks[key] for key in sorted(marks)])))
    root.ParentTree = made.make_indirect(Dictionary(Nums=numbers))
    root.ParentTreeNextKey = len(pages)
    made.Root.StructTreeRoot = root


def _element(
    made: Pdf,
    element: Element,
    *,
    parent: Any,
    pages: list[Any],
    by_page: defaultdict[int, dict[int, Any]],
) -> Any:
    node = made.make_indirect(Dictionary(S=Name(f"/{element.role}"), P=parent))
    kids = Array()
    if element.drawn:
        node.Pg = pages[element.drawn[0][0]]
    for page, number in element.drawn:
        by_page[page][number] = node
        if page == element.drawn[0][0]:
            kids.append(number)
        else:
            kids.append(Dictionary(Type=Name.MCR, Pg=pages[page], MCID=number))
    for child in element.children:
        kids.append(_element(made, child, parent=node, pages=pages, by_page=by_page))
    node.K = kids
    _attributes(node, element)
    return node


def _attributes(node: Any, element: Element) -> None:
    table: dict[str, Any] = {}
    if element.scope:
        table["Scope"] = Name(f"/{element.scope}")
    if element.columns > 1:
        table["ColSpan"] = element.columns
    if table:
        node.A = Dictionary(
            {"/O": Name.Table, **{f"/{key}": value for key, value in table.items()}}
        )
    if element.box is not None:
        node.A = Dictionary(O=Name.Layout, BBox=Array([round(side, 2) for side in element.box]))
    if element.alt:
        node.Alt = String(element.alt)
    if element.language:
        node.Lang = String(element.language)


def _metadata(made: Pdf, *, about: About) -> None:
    with made.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as meta:
        meta["dc:title"] = about.title
        meta["dc:creator"] = [about.author]
        meta["dc:language"] = [about.language]


def _lighten_fonts(made: Pdf) -> None:
    """Leave out what no reader looks at, and the name of a face that nothing is set in."""
    for page in made.pages:
        drawn = page.obj.Contents.read_bytes()
        fonts = page.obj.Resources.Font
        for name in list(fonts.keys()):
            if "/FontDescriptor" not in fonts[name] and f"{name} ".encode() not in drawn:
                del fonts[name]
    for font in made.objects:
        if isinstance(font, Dictionary) and font.get("/Type") == Name.FontDescriptor:
            data = needed_tables(font.FontFile2.read_bytes())
            font.FontFile2.write(data)
            font.FontFile2.Length1 = len(data)


def _bookmarks(made: Pdf, *, tree: Tree) -> None:
    with made.open_outline() as outline:
        for element in _walk(tree.root):
            if element.role in _HEADINGS and element.drawn and element.title:
                outline.root.append(OutlineItem(element.title, element.drawn[0][0]))


def _walk(element: Element) -> Iterator[Element]:
    yield element
    for child in element.children:
        yield from _walk(child)
