"""Whether a premises is a residence, told from its use as an office writes it."""

from __future__ import annotations

import re

RESIDENCES = frozenset(
    {
        "residence",
        "residential",
        "single family",
        "single family home",
        "single family residence",
        "single family residential",
        "house",
        "home",
        "dwelling",
        "private residence",
        "private home",
    }
)


def is_residence(use: str) -> bool | None:
    """Return whether the use is that of a residence; None where nobody recorded a use.

    Only plain words for a single dwelling count; an apartment building or a nursing home is
    treated as the stricter, not residential.
    """
    words = re.sub(r"[^a-z]+", " ", use.casefold()).strip()
    return words in RESIDENCES if words else None
