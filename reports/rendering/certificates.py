"""A CertificateContent becomes a PDF with the QR that leads to its page."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.platypus import Flowable, KeepTogether, Spacer
from reportlab.platypus import Table as PlatypusTable

from notices.rendering.codes import MODULE_PT, QUIET_MODULES, LinkCode
from notices.rendering.marks import Element
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import (
    CAPTION,
    CAUTION,
    HEADLINE,
    STEP,
    UNDER_SECTION,
    balanced,
)
from notices.rendering.tagged_sheets import said, titled
from reports.domain.certificate_lines import CertificatePart
from reports.domain.certificates import CertificateContent
from reports.rendering.sheets import RenderedSheet, SheetHead, pairs_table, render_sheet, ruled

_SHARES = (0.38, 0.16, 0.17, 0.12, 0.17)


def render_certificate(
    content: CertificateContent,
    *,
    head: SheetHead,
    link: str,
    shown_link: str,
    paper: Paper = US_LETTER,
) -> RenderedSheet:
    """The certificate's bytes; `shown_link` is the address in letters beside the QR."""

    def story(part: Element) -> Iterator[Flowable]:
        width = paper.text_width
        yield from _story(content, link=link, shown_link=shown_link, width=width, whole=part)

    return render_sheet(head, story=story, paper=paper)


def _story(
    content: CertificateContent, *, link: str, shown_link: str, width: float, whole: Element
) -> Iterator[Flowable]:
    yield said(content.title, part=whole, style=CAPTION)
    style = balanced(content.headline, style=HEADLINE, width=width)
    yield titled(content.headline, part=whole, style=style, role="H1")
    yield said(content.under, part=whole)
    yield _pairs_with_code(content, link=link, shown_link=shown_link, width=width, whole=whole)
    for part in content.parts[:1]:
        yield KeepTogether(list(_part(part, heads=content.heads, width=width, whole=whole)))
    if content.repairs[1]:
        yield titled(content.repairs[0], part=whole)
        yield said(content.repairs[1], part=whole, style=UNDER_SECTION)
    for part in content.parts[1:]:
        yield KeepTogether(list(_part(part, heads=content.heads, width=width, whole=whole)))
    yield KeepTogether(
        [
            titled(content.cautions_heading, part=whole),
            *(said(caution, part=whole, style=CAUTION) for caution in content.cautions),
        ]
    )


def _pairs_with_code(
    content: CertificateContent, *, link: str, shown_link: str, width: float, whole: Element
) -> Flowable:
    pairs, figure = whole.add("Sect"), whole.add("Figure", alt=f"QR: {shown_link}")
    code = LinkCode(link, element=figure)
    quiet = QUIET_MODULES * MODULE_PT
    right = max(code.width + 2 * quiet, 160)
    left = width - right
    beside = [
        code,
        Spacer(1, quiet),
        said(content.qr_words, part=whole, style=CAUTION),
        said(shown_link, part=whole, style=CAUTION),
    ]
    pair = PlatypusTable(
        [[[pairs_table(content.pairs, width=left, part=pairs)], beside]],
        colWidths=[left, right],
        hAlign="LEFT",
        spaceBefore=quiet,
    )
    pair.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("LEFTPADDING", (1, 0), (1, -1), quiet),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
        ]
    )
    return pair


def _part(
    part: CertificatePart, *, heads: tuple[str, ...], width: float, whole: Element
) -> Iterator[Flowable]:
    yield titled(part.title, part=whole)
    if not part.lines:
        yield said("\N{EM DASH}", part=whole, style=STEP)
        return
    rows = [(one.name, one.reading, one.limit, one.margin, one.verdict) for one in part.lines]
    figures = frozenset({1, 2, 3})
    yield ruled(heads, rows, shares=_SHARES, width=width, figures=figures, part=whole)
