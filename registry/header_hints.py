"""A guess at what an unread header was meant to be, offered to a person and never acted on."""

from collections.abc import Collection, Mapping

from rapidfuzz import fuzz, process

from registry.domain.cells import Fault
from registry.domain.fields import public_name
from registry.domain.headers import ColumnMap, header_key

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


def unread_columns(*, columns: ColumnMap, synonyms: Mapping[str, tuple[str, int]]) -> list[Fault]:
    """One warning for each column that is not read, with what it may have been meant to be."""
    taken = set(columns.fields.values())
    found = []
    for header in columns.unread:
        if header in columns.twins:
            message = f"Not read: {columns.twins[header]!r} already holds this."
        else:
            meant = meant_field(header=header, synonyms=synonyms, taken=taken)
            hint = f" Did you mean {meant}? Then rename it." if meant else ""
            message = f"This column is not recognised and not read.{hint}"
        found.append(Fault(row=1, column=header, value=header, message=message))
    return found
