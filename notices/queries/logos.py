"""The logo of a letterhead, by the digest a letter names it by."""

from __future__ import annotations

from notices.models import LetterLogo
from registry.models import Program


def logo_of(program: Program, *, sha256: str) -> bytes | None:
    """Return the PNG kept under this digest; None without one."""
    if not sha256:
        return None
    found = LetterLogo.objects.filter(program=program, sha256=sha256)
    png = found.values_list("png", flat=True).first()
    return bytes(png) if png is not None else None
