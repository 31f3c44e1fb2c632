"""Writes the structure into a drawn PDF: tags, language, title, bookmarks (ISO 32000-1, 14.7).

Made after PDF/UA-1's rules as far as they can be checked here; nothing claims that it conforms.
The structure is written by the canvas as it ends, an element a line: no library in between.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from pikepdf import ObjectStreamMode, Pdf
from reportlab.pdfbase.pdfdoc import PDFPage
from reportlab.pdfgen.canvas import Canvas

from notices.domain.long_dates import NO_BREAK
from notices.rendering.marks import Element, Tree
from notices.rendering.pdf_objects import Written, placed, stream_of, text_string

_HEADINGS = ("H1", "H2")
_ESCAPED = re.compile(r"\\(?:[0-7]{3}|.)", re.DOTALL)
_PLAIN = {f"\\{code:03o}": chr(code) for code in range(1, 127) if chr(code) not in "\r()\\"}
_PAGE_SAYS = [*PDFPage.__NoDefault__, "StructParents", "Tabs"]

_XMP = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF \
xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" \
xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title><rdf:Alt>\
<rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title><dc:creator><rdf:Seq>\
<rdf:li>{author}</rdf:li></rdf:Seq></dc:creator></rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>"""


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What a document says of itself."""

    title: str
    author: str
    language: str


class TaggedCanvas(Canvas):  # type: ignore[misc]
    """A canvas that ends by writing the structure of what was drawn on it."""

    def __init__(self, *args: Any, tree: Tree, about: About, **more: Any) -> None:
        super().__init__(*args, **more)
        self._tree, self._about = tree, about

    def showPage(self) -> None:  # noqa: N802 - the library's name
        """End a page: what is drawn on it is written lightly."""
        self._code[:] = [lightly("\n".join(self._code))]
        super().showPage()

    def save(self) -> None:
        """End the last page, write the structure, and the file."""
        if self._code:
            self.showPage()
        document = self._doc
        pages = [document.idToObject[f"Page{n}"] for n in range(1, document.pageCounter)]
        names = [placed(document, page) for page in pages]
        for page in pages:
            page.Contents = Written(stream_of(page.stream.encode("utf-8")))
        _structure(document, tree=self._tree, pages=pages, names=names)
        _said_of_itself(document, about=self._about)
        _bookmarks(document, tree=self._tree, pages=names)
        # A face that ReportLab always names and nothing is set in: it would not be embedded.
        document.idToObject["BasicFonts"].dict.pop("F1", None)
        super().save()


class _Outline(Written):
    """Bookmarks of our own where ReportLab keeps its."""

    ready = 1

    def prepare(self, _document: Any, _canvas: Any) -> None:
        """Nothing is left to do: they are written."""


def lightly(code: str) -> str:
    """Return what draws a page with its letters as single bytes, where ReportLab escapes them.

    Any byte may stand in a string (ISO 32000-1, 7.3.4.2); a carriage return would be read as
    another. A sixth of what a page's drawing weighs, packed, is escapes. Pictures within it are
    in hexadecimal, and pass.
    """
    return _ESCAPED.sub(_unescaped, code)


def _unescaped(found: re.Match[str]) -> str:
    return _PLAIN.get(found[0], found[0])


def packed(pdf: bytes) -> bytes:
    """Return the same PDF with its small objects gathered and packed: half of what tags weigh."""
    with Pdf.open(BytesIO(pdf)) as made:
        stream = BytesIO()
        made.save(
            stream,
            deterministic_id=True,
            object_stream_mode=ObjectStreamMode.generate,
            recompress_flate=False,
        )
    return stream.getvalue()


def _structure(document: Any, *, tree: Tree, pages: list[Any], names: list[str]) -> None:
    root = Written()
    of_root = placed(document, root)
    marks: defaultdict[int, dict[int, str]] = defaultdict(dict)
    first = _element(document, tree.root, parent=of_root, pages=names, marks=marks)
    numbers = []
    for index, page in enumerate(pages):
        page.__NoDefault__ = _PAGE_SAYS
        page.StructParents, page.Tabs = index, "/S"
        said = " ".join(marks[index][number] for number in sorted(marks[index]))
        numbers.append(f"{index} {placed(document, f'[ {said} ]'.encode('ascii'))}")
    parents = placed(document, f"<< /Nums [ {' '.join(numbers)} ] >>".encode("ascii"))
    root.content = (
        f"<< /Type /StructTreeRoot /K {first} /ParentTree {parents} "
        f"/ParentTreeNextKey {len(pages)} >>"
    ).encode("ascii")
    document.Catalog.StructTreeRoot = root


def _element(
    document: Any,
    element: Element,
    *,
    parent: str,
    pages: list[str],
    marks: defaultdict[int, dict[int, str]],
) -> str:
    node = Written()
    name = placed(document, node)
    kids = []
    where = f" /Pg {pages[element.drawn[0][0]]}" if element.drawn else ""
    for page, number in element.drawn:
        marks[page][number] = name
        is_here = page == element.drawn[0][0]
        kids.append(
            str(number) if is_here else f"<< /Type /MCR /Pg {pages[page]} /MCID {number} >>"
        )
    kids += [
        _element(document, child, parent=name, pages=pages, marks=marks)
        for child in element.children
    ]
    node.content = (
        f"<< /S /{element.role} /P {parent}{where} /K [ {' '.join(kids)} ]{_attributes(element)} >>"
    ).encode("ascii")
    return name


def _attributes(element: Element) -> str:
    said = ""
    if element.scope or element.columns > 1:
        scope = f" /Scope /{element.scope}" if element.scope else ""
        columns = f" /ColSpan {element.columns}" if element.columns > 1 else ""
        said = f" /A << /O /Table{scope}{columns} >>"
    if element.box is not None:
        box = " ".join(f"{side:.2f}" for side in element.box)
        said = f" /A << /O /Layout /BBox [ {box} ] >>"
    if element.alt:
        said += f" /Alt {text_string(element.alt)}"
    if element.language:
        said += f" /Lang {text_string(element.language)}"
    return said


def _bookmarks(document: Any, *, tree: Tree, pages: list[str]) -> None:
    """One for each heading, on one level."""
    heads = [
        element
        for element in _walk(tree.root)
        if element.role in _HEADINGS and element.drawn and element.title
    ]
    if not heads:
        return
    outline, items = _Outline(), [Written() for _ in heads]
    parent, names = placed(document, outline), [placed(document, item) for item in items]
    for at, (head, item) in enumerate(zip(heads, items, strict=True)):
        before = f" /Prev {names[at - 1]}" if at else ""
        after = f" /Next {names[at + 1]}" if at + 1 < len(names) else ""
        title = text_string(head.title.replace(NO_BREAK, " "))
        item.content = (
            f"<< /Title {title} /Parent {parent}{before}{after} "
            f"/Dest [ {pages[head.drawn[0][0]]} /Fit ] >>"
        ).encode("ascii")
    outline.content = (
        f"<< /Type /Outlines /First {names[0]} /Last {names[-1]} /Count {len(names)} >>"
    ).encode("ascii")
    document.Catalog.Outlines = document.Outlines = outline


def _said_of_itself(document: Any, *, about: About) -> None:
    values = {
        "title": escape(about.title),
        "author": escape(about.author),
    }
    xmp = stream_of(
        _XMP.format(**values).encode("utf-8"), said="/Type /Metadata /Subtype /XML", is_packed=False
    )
    document.Catalog.Metadata = Written(xmp)
    document.Catalog.MarkInfo = Written(b"<< /Marked true >>")
    document.Catalog.ViewerPreferences = Written(b"<< /DisplayDocTitle true >>")


def _walk(element: Element) -> Iterator[Element]:
    yield element
    for child in element.children:
        yield from _walk(child)
