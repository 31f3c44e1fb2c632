"""A guess at what an unread header was meant to be, offered to a person and never acted on."""

from collections.abc import Collection, Mapping

from rapidfuzz import fuzz, process

from registry.domain.fields import public_name
from registry.domain.headers import header_key

NEAR_ENOUGH = 84
SHORTEST = 4


def meant_field(
    *, header: str, synonyms: Mapping[str, tuple[str, int]], taken: Collection[str | None]
) -> str | None:
    """The field whose spelling lies nearest, when it is near and no other column holds it."""
    key = header_key(header)
    if len(key) < SHORTEST:
        return None
    free = [spelling for spelling, (field, _) in synonyms.items() if field not in taken]
    found = process.extractOne(key, free, scorer=fuzz.ratio, score_cutoff=NEAR_ENOUGH - 4)
    if not found or (found[1] < NEAR_ENOUGH and len(key) > 6):
        return None
    return public_name(synonyms[found[0]][0])
