"""Many kept letters in one file for a printer: the same bytes' pages, each starting on a front."""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO

from pikepdf import ObjectStreamMode, Page, Pdf


def batch(letters: Iterable[bytes], *, cover: bytes | None = None) -> bytes:
    """Return one PDF for printing on both sides: a blank back follows an odd letter, none the last.

    The same letters give the same bytes. Nothing is drawn again: pages are taken as kept.
    """
    with Pdf.new() as made:
        for pdf in [*([cover] if cover else []), *letters]:
            _to_a_front(made)
            with Pdf.open(BytesIO(pdf)) as kept:
                made.pages.extend(kept.pages)
        stream = BytesIO()
        made.remove_unreferenced_resources()
        made.save(stream, deterministic_id=True, object_stream_mode=ObjectStreamMode.generate)
    return stream.getvalue()


def _to_a_front(made: Pdf) -> None:
    if len(made.pages) % 2 == 0:
        return
    last = Page(made.pages[-1])
    left, bottom, right, top = (float(side) for side in last.mediabox)
    made.add_blank_page(page_size=(right - left, top - bottom))
