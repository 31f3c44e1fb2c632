"""What a form tells that a person must hear of, whatever its verdict."""

from __future__ import annotations

from collections.abc import Iterator

from reports.domain.entry_body import EntryBody
from reports.domain.entry_items import CAUSES, DANGEROUS, INSTALLED, RUNNING, UNTESTED

DANGER = "danger"


def questions_of(body: EntryBody) -> Iterator[tuple[str, str]]:
    """Pairs of kind and sentence: what is dangerous now, what was not tested, a replacement."""
    fields = body.fields
    serial = fields.get("serial", "").strip() or "an assembly without a serial"
    cause = fields.get(UNTESTED, "").strip()
    words = dict(CAUSES).get(cause, cause)
    if cause in DANGEROUS:
        yield f"{DANGER}: {cause}", f"{serial}: {words}. The water may be unprotected: look today."
    elif cause:
        yield "could not be tested", f"{serial} could not be tested. {words}."
    if fields.get(RUNNING) == "yes":
        yield (
            f"{DANGER}: relief valve running",
            f"{serial}: the relief valve was seen running. Look, whatever the readings say.",
        )
    if fields.get(INSTALLED) == "replacement":
        old = fields.get("old_serial", "").strip() or "(no serial told)"
        yield "replacement", f"{serial} replaces {old}: record the one, and take out the other."
