"""A CertificateContent becomes a PDF with the QR that leads to its page."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.platypus import Flowable, KeepTogether, Spacer
from reportlab.platypus import Table as PlatypusTable

from notices.rendering.codes import MODULE_PT, QUIET_MODULES, LinkCode
from notices.rendering.paper import US_LETTER, Paper
from notices.rendering.paragraphs import (
    CAPTION,
    CAUTION,
    HEADLINE,
    SECTION,
    STEP,
    TEXT,
    UNDER_SECTION,
    P,
    balanced,
)
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

    def story() -> Iterator[Flowable]:
        yield from _story(content, link=link, shown_link=shown_link, width=paper.text_width)

    return render_sheet(head, story=story, paper=paper)


def _story(
    content: CertificateContent, *, link: str, shown_link: str, width: float
) -> Iterator[Flowable]:
    yield P(content.title, style=CAPTION)
    yield P(content.headline, style=balanced(content.headline, style=HEADLINE, width=width))
    yield P(content.under, style=TEXT)
    yield _pairs_with_code(content, link=link, shown_link=shown_link, width=width)
    for part in content.parts[:1]:
        yield KeepTogether(list(_part(part, heads=content.heads, width=width)))
    if content.repairs[1]:
        yield P(content.repairs[0], style=SECTION)
        yield P(content.repairs[1], style=UNDER_SECTION)
    for part in content.parts[1:]:
        yield KeepTogether(list(_part(part, heads=content.heads, width=width)))
    yield KeepTogether(
        [
            P(content.cautions_heading, style=SECTION),
            *(P(caution, style=CAUTION) for caution in content.cautions),
        ]
    )


def _pairs_with_code(
    content: CertificateContent, *, link: str, shown_link: str, width: float
) -> Flowable:
    code = LinkCode(link)
    quiet = QUIET_MODULES * MODULE_PT
    right = max(code.width + 2 * quiet, 160)
    left = width - right
    beside = [
        code,
        Spacer(1, quiet),
        P(content.qr_words, style=CAUTION),
        P(shown_link, style=CAUTION),
    ]
    pair = PlatypusTable(
        [[[pairs_table(content.pairs, width=left)], beside]],
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


def _part(part: CertificatePart, *, heads: tuple[str, ...], width: float) -> Iterator[Flowable]:
    yield P(part.title, style=SECTION)
    if not part.lines:
        yield P("\N{EM DASH}", style=STEP)
        return
    rows = [(one.name, one.reading, one.limit, one.margin, one.verdict) for one in part.lines]
    yield ruled(heads, rows, shares=_SHARES, width=width, figures=frozenset({1, 2, 3}))
