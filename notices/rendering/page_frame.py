"""The frame of every paper of ours: where its text flows, how its file is made, page x of y."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from notices.rendering import faces
from notices.rendering.furniture import fitted
from notices.rendering.marks import Tree, drawn_as
from notices.rendering.paper import Paper
from notices.rendering.paragraphs import INK_2
from notices.rendering.tagging import About, TaggedCanvas, packed

FOOT_SIZE = 8
MOST_FOOT = 380

Drawn = tuple[bytes, int]
"""A PDF and how many pages it has."""


def text_frame(paper: Paper, *, top: float) -> Frame:
    """Return where text flows on a sheet: between the margins, from `top` to the foot's room."""
    height = paper.height - top - paper.text_bottom
    return Frame(paper.left, paper.text_bottom, paper.text_width, height, *(0, 0, 0, 0))


def counted(draw: Callable[[int], Drawn]) -> Drawn:
    """Draw a paper that says how many pages it has: most have one; others are drawn once more."""
    pdf, pages = draw(1)
    return (pdf, pages) if pages == 1 else draw(pages)


def built(
    story: Iterable[Flowable],
    *,
    about: About,
    paper: Paper,
    templates: Sequence[PageTemplate],
    tree: Tree | None = None,
) -> Drawn:
    """Return the file: the same story gives the same bytes. With a tree it has its structure."""
    faces.register()
    stream = BytesIO()
    document = BaseDocTemplate(
        stream,
        pagesize=(paper.width, paper.height),
        pageTemplates=list(templates),
        title=about.title,
        author=about.author,
        lang=about.language,
        invariant=1,
        allowSplitting=1,
        pageCompression=1,
        initialFontName=faces.SANS,  # else a face that is not in the file is named in it
    )
    maker = Canvas if tree is None else partial(TaggedCanvas, tree=tree, about=about)
    document.build(list(story), canvasmaker=maker)
    pdf = stream.getvalue()
    return (pdf if tree is None else packed(pdf)), document.page


def draw_foot_words(canvas: Any, paper: Paper, *, left: str, right: str) -> None:
    """Draw the foot of a sheet: what it belongs to on the left, page x of y on the right."""
    y = paper.from_top(paper.foot_baseline)
    with drawn_as(canvas, None):
        canvas.setFillColor(INK_2)
        canvas.setFont(faces.SANS, FOOT_SIZE)
        canvas.drawString(
            paper.left, y, fitted(left, face=faces.SANS, size=FOOT_SIZE, most=MOST_FOOT)
        )
        canvas.drawRightString(paper.width - paper.right, y, right)
