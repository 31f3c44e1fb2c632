"""Which column holds which field: by a program's own reading first, then by the trade's words."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from registry.domain.cells import clean
from registry.domain.fields import RegistryField, public_name
from registry.domain.header_synonyms import spelling_key

_OWNER_TWINS: Mapping[str, str] = {
    RegistryField.ADDRESS: RegistryField.OWNER_ADDRESS,
    RegistryField.ADDRESS_UNIT: RegistryField.OWNER_ADDRESS_UNIT,
    RegistryField.CITY: RegistryField.OWNER_CITY,
    RegistryField.STATE: RegistryField.OWNER_STATE,
    RegistryField.ZIP: RegistryField.OWNER_ZIP,
    RegistryField.PHONE: RegistryField.OWNER_PHONE,
}
LOOSER = 1000
_ASSEMBLY_WORDS = re.compile(
    r"^\W*(?:(?:backflow|device|assembly|assy|preventer|prevention|bfpa?|bpa|bpd|bfd|bf|unit)"
    r"[\W_]+)+",
    re.IGNORECASE,
)
_ASSEMBLY_FIELDS = frozenset(
    {
        RegistryField.TYPE,
        RegistryField.MAKER,
        RegistryField.MODEL,
        RegistryField.SERIAL,
        RegistryField.SIZE_IN,
        RegistryField.LOCATION,
        RegistryField.STATUS,
        RegistryField.HAZARD,
        RegistryField.NOTES,
        RegistryField.INSTALLED_ON,
        RegistryField.LAST_TESTED_ON,
        RegistryField.LAST_PASSED_ON,
        RegistryField.RESULT,
        RegistryField.DUE_ON,
    }
)
_OWNER_FIELDS = {RegistryField.OWNER_NAME, *_OWNER_TWINS.values()}


@dataclass(frozen=True, kw_only=True)
class ColumnMap:
    """For every header the field it holds, or None; `twins` are headers of a held field."""

    fields: Mapping[str, str | None]
    twins: Mapping[str, str]

    @cached_property
    def _headers(self) -> dict[str, str]:
        return {field: header for header, field in self.fields.items() if field is not None}

    def header_of(self, field: str) -> str | None:
        """The header that holds a field, as the file spells it."""
        return self._headers.get(field)

    def brings(self, field: str) -> bool:
        """Whether any column holds the field."""
        return field in self._headers

    def public(self) -> dict[str, str | None]:
        """The map as a caller sees it: header to field or null."""
        return {
            header: None if field is None else public_name(field)
            for header, field in self.fields.items()
        }

    @property
    def unread(self) -> tuple[str, ...]:
        """Headers that hold no field, in the order of the file."""
        return tuple(header for header, field in self.fields.items() if field is None)


def header_key(header: str) -> str:
    """How two spellings of a header are compared: a twin's number off, then its letters alone."""
    return spelling_key(re.sub(r" \([0-9]+\)$", "", clean(header)))


def recognise(
    *,
    headers: Sequence[str],
    synonyms: Mapping[str, tuple[str, int]],
    saved: Mapping[str, str],
) -> ColumnMap:
    """Give each field to at most one column. `saved` maps header keys to fields ("": left out).

    A program's saved reading wins; then the column whose spelling is the more telling one. A
    plain address, city, state or ZIP that comes a second time, after a column of the owner's,
    is the owner's. Nothing is guessed from likeness.
    """
    claims = [
        _claim(position=position, headers=headers, synonyms=synonyms, saved=saved)
        for position in range(len(headers))
    ]
    taken: dict[str, str] = {}
    twins: dict[str, str] = {}
    for _, position, field in sorted(claim for claim in claims if claim):
        header = headers[position]
        if field not in taken:
            taken[field] = header
            continue
        owners = _owner_twin(field=field, position=position, claims=claims)
        if owners and owners not in taken:
            taken[owners] = header
        else:
            twins[header] = taken[field]
    found = {header: field for field, header in taken.items()}
    return ColumnMap(fields={header: found.get(header) for header in headers}, twins=twins)


_Claim = tuple[int, int, str]


def _claim(
    *,
    position: int,
    headers: Sequence[str],
    synonyms: Mapping[str, tuple[str, int]],
    saved: Mapping[str, str],
) -> _Claim | None:
    key = header_key(headers[position])
    if key in saved:
        return (-1, position, saved[key]) if saved[key] else None
    if key in synonyms:
        field, rank = synonyms[key]
        return rank, position, field
    return _looser_claim(position=position, header=headers[position], synonyms=synonyms)


def _looser_claim(
    *, position: int, header: str, synonyms: Mapping[str, tuple[str, int]]
) -> _Claim | None:
    """A header without its hint in brackets, or an assembly's field without the word for assembly.

    "Install Date (mm/dd/yyyy)" is an install date, "BFD Manufacturer" a manufacturer.
    """
    bare = re.sub(r"[(\[][^)\]]*[)\]]", " ", header)
    if header_key(bare) in synonyms:
        field, rank = synonyms[header_key(bare)]
        return rank + LOOSER, position, field
    field, rank = synonyms.get(header_key(_ASSEMBLY_WORDS.sub("", bare)), ("", 0))
    return (rank + 2 * LOOSER, position, field) if field in _ASSEMBLY_FIELDS else None


def _owner_twin(*, field: str, position: int, claims: Sequence[_Claim | None]) -> str | None:
    """The owner's field that a repeated plain header stands for, once the owner's columns began."""
    began = any(claim and claim[1] < position and claim[2] in _OWNER_FIELDS for claim in claims)
    return _OWNER_TWINS.get(field) if began else None
