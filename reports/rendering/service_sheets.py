"""Service sheets and lists to bring, as PDF: one assembly a sheet, lines to write on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, KeepTogether, PageBreak, Spacer

from notices.domain.long_dates import long_date
from notices.domain.wording import size_words
from notices.rendering.marks import Element
from notices.rendering.paper import US_LETTER
from notices.rendering.paragraphs import CAUTION, CELL, HEADLINE, P, Strong
from notices.rendering.tagged_sheets import said, titled
from reports.domain.bringing import Bring
from reports.domain.causes import Cause
from reports.domain.service_sheets import ServiceSheet
from reports.rendering.sheets import RenderedSheet, SheetHead, pairs_table, render_sheet, ruled

_WIDTH = US_LETTER.text_width
_POINT = ParagraphStyle("point", parent=CELL, spaceBefore=1.5, leftIndent=8, firstLineIndent=-8)


def render_service_sheets(
    sheets: Sequence[ServiceSheet],
    *,
    head: SheetHead,
    causes_caution: str,
    bring: Sequence[Bring] = (),
    bring_words: str = "",
) -> RenderedSheet:
    """The sheets, each on a page of its own; with a list to bring for all of them in front."""

    def story(whole: Element) -> Iterator[Flowable]:
        if bring_words:
            yield titled("What to bring", part=whole, style=HEADLINE, role="H1")
            yield said(bring_words, part=whole)
            yield _bring_table(bring, part=whole)
            yield PageBreak()
        for place, sheet in enumerate(sheets):
            if place:
                yield PageBreak()
            yield from _sheet(sheet, causes_caution=causes_caution, part=whole.add("Sect"))

    return render_sheet(head, story=story)


def bring_line(one: Bring) -> tuple[str, str, str, str]:
    """A line of the list: how many, of what, for what, why so many."""
    fits = ", ".join(part for part in (one.type, size_words(one.size_in)) if part)
    model = " ".join(part for part in (one.maker, one.model) if part)
    reason = f"for {one.assemblies}; {one.expected:.1f} needed on the whole"
    if one.part == "test-cock fittings":
        reason = f"one set, for {one.assemblies}"
    if one.unknown:
        reason += f"; {one.unknown} of unknown chance, not counted"
    return str(one.count), one.part.capitalize(), f"{fits}{f'; {model}' if model else ''}", reason


def _bring_table(bring: Sequence[Bring], *, part: Element) -> Flowable:
    if not bring:
        return said("Nothing beyond the gauge and the usual tools.", part=part)
    return ruled(
        ("Bring", "What", "Fits", "Why so many"),
        [bring_line(one) for one in bring],
        shares=(0.09, 0.21, 0.37, 0.33),
        width=_WIDTH,
        figures=frozenset({0}),
        names=frozenset({1}),
        part=part,
    )


def _sheet(sheet: ServiceSheet, *, causes_caution: str, part: Element) -> Iterator[Flowable]:
    visit = sheet.visit
    title = f"{visit.serial}, {visit.type}, {size_words(visit.size_in)}"
    yield titled(title, part=part, style=HEADLINE, role="H1")
    yield pairs_table(_pairs(sheet), width=_WIDTH, share=0.2, part=part)
    yield titled("Heed first", part=part)
    yield from _points(sheet.cautions, part=part)
    yield titled("Tell the owner", part=part)
    yield from _points(sheet.tell, part=part)
    yield KeepTogether(list(_readings(sheet, part=part)))
    if visit.causes or visit.symptoms:
        yield KeepTogether(list(_causes(sheet, caution=causes_caution, part=part)))
    bring = [titled("What to bring for it", part=part), _bring_table(visit.bring, part=part)]
    yield KeepTogether(bring)
    yield titled("Common practice", part=part)
    yield from _points(sheet.practice, part=part)
    yield Spacer(1, 4)
    yield P(Strong(sheet.defers), style=CELL, element=part.add("P"))
    yield KeepTogether(list(_to_write_on(part)))


def _points(lines: Sequence[str], *, part: Element) -> Iterator[Flowable]:
    whole = part.add("L")
    for line in lines:
        body = whole.add("LI").add("LBody")
        yield P(f"\N{BULLET} {line}", style=_POINT, element=body)


def _pairs(sheet: ServiceSheet) -> Iterator[tuple[str, str]]:
    visit = sheet.visit
    place = ", ".join(part for part in (visit.premises, visit.address) if part)
    standing = f"failed on {long_date(visit.failed_on)}" if visit.failed_on else ""
    due = f"test due {long_date(visit.due_on)}" if visit.due_on else ""
    told = (
        ("At", place),
        ("Stands", visit.location),
        ("Maker, model", " ".join(part for part in (visit.maker, visit.model) if part)),
        ("Telephone", visit.phone),
        ("Access", visit.access_notes),
        ("Told ahead", f"{visit.notice_days} working days" if visit.notice_days else ""),
        ("On record", "; ".join(part for part in (standing, due) if part)),
    )
    return (pair for pair in told if pair[1])


def _readings(sheet: ServiceSheet, *, part: Element) -> Iterator[Flowable]:
    yield titled("Readings", part=part)
    yield said(sheet.method, part=part, style=CAUTION)
    if not sheet.readings:
        yield said("This type has no field test: it is inspected.", part=part, style=CELL)
        return
    rows = [
        (one.name, one.limit, ", ".join(one.before) or "\N{EM DASH}", "", "")
        for one in sheet.readings
    ]
    yield ruled(
        ("Reading", "Limit", "Before", "As found", "After repair"),
        rows,
        shares=(0.28, 0.18, 0.26, 0.14, 0.14),
        width=_WIDTH,
        tall=7,
        part=part,
    )


def _causes(sheet: ServiceSheet, *, caution: str, part: Element) -> Iterator[Flowable]:
    yield titled("What is seen, and what it points to", part=part)
    rows = [_cause(one) for one in (*sheet.visit.causes, *sheet.visit.symptoms)]
    heads, shares = ("Seen", "Points to", "Source"), (0.33, 0.37, 0.3)
    yield ruled(heads, rows, shares=shares, width=_WIDTH, part=part)
    yield said(caution, part=part, style=CAUTION)


def _cause(one: Cause) -> tuple[str, str, str]:
    told = one.words.removeprefix("Points to ").removesuffix(".")
    return one.seen, told, one.cite


def _to_write_on(part: Element) -> Iterator[Flowable]:
    """Blank lines for what a report must carry besides readings."""
    yield titled("To write on", part=part)
    names = (
        ("Line pressure", "Time"),
        ("Gauge serial", "Calibrated on"),
        ("Shutoff valve 1", "Shutoff valve 2"),
        ("Meter reading", "Supply back on"),
        ("Repairs and parts", ""),
        ("Remarks", ""),
        ("Tester, certificate", "Signature"),
    )
    rows = [(left, "", right, "") for left, right in names]
    shares, labels = (0.2, 0.32, 0.18, 0.3), frozenset({0, 2})
    heads = ("", "", "", "")
    yield ruled(heads, rows, shares=shares, width=_WIDTH, tall=8, names=labels, part=part)
