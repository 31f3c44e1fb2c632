"""Which types of assembly a certificate covers, as its classes say."""

from __future__ import annotations

import re

from registry.domain.assembly_types import read_type
from registry.domain.cells import UnreadableCellError
from registry.domain.kinds import AssemblyType

_BASE = {
    AssemblyType.RPDA: AssemblyType.RP,
    AssemblyType.RPDA_II: AssemblyType.RP,
    AssemblyType.DCDA: AssemblyType.DC,
    AssemblyType.DCDA_II: AssemblyType.DC,
}
"""A detector by its main body: who may test the one may test the other (common practice)."""

_EVERY = {"all", "every", "any", "general"}


def covers(classes: str, *, assembly_type: AssemblyType) -> bool:
    """Whether classes as written cover a type; words that name no type restrict nothing.

    "RP, DC" covers an RPDA and a DC and no PVB; "II" or a blank covers every type.
    """
    words = [word for word in re.split(r"[,;/+]|\band\b|\s+", classes) if word.strip()]
    if any(word.casefold() in _EVERY for word in words):
        return True
    named = {found for word in words if (found := _type(word)) is not None}
    return not named or bool({assembly_type, _BASE.get(assembly_type, assembly_type)} & named)


def _type(word: str) -> AssemblyType | None:
    try:
        return read_type(word)
    except UnreadableCellError:
        return None
