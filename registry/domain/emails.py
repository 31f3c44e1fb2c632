"""Whether an e-mail address can be written to at all; nothing is looked up."""

import re

from registry.domain.cells import Reading, clean, is_none

_ADDRESS = re.compile(
    r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~\-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~\-]+)*"
    r"@(?:[^\W_](?:[\w\-]{0,61}[^\W_])?\.)+[^\W\d_][\w\-]{0,61}[^\W_]"
)
LONGEST = 254


def read_email(raw: str) -> Reading[str]:
    """The address, its domain in lower case; of several the first; what is none is left out."""
    if is_none(raw):
        return Reading("")
    text = clean(raw).removeprefix("mailto:")
    named = re.fullmatch(r"[^<>@]*<([^<>]+)>", text)
    candidates = [named[1]] if named else [part for part in re.split(r"[;,\s]+", text) if part]
    first = candidates[0] if candidates else ""
    if len(first) > LONGEST or not _ADDRESS.fullmatch(first):
        return Reading(
            "", f"{text!r} is no e-mail address and is left out; write one as name@example.org."
        )
    local, _, domain = first.rpartition("@")
    address = f"{local}@{domain.lower()}"
    if len(candidates) > 1:
        return Reading(address, f"Only the first address, {address}, is kept; one fits a cell.")
    return Reading(address)
