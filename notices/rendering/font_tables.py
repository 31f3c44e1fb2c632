"""Fonts within a PDF, rid of the tables that no reader of PDF looks at.

ISO 32000-1, 9.9: of an embedded TrueType font `glyf`, `head`, `hhea`, `hmtx`, `loca`, `maxp`
are needed, `cmap` in a simple font, and `cvt `, `fpgm`, `prep` where it is hinted; all other
tables are ignored. They would be a twentieth of every kept letter.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

KEPT = frozenset(
    (b"glyf", b"head", b"hhea", b"hmtx", b"loca", b"maxp", b"cmap", b"cvt ", b"fpgm", b"prep")
)
_HEADER = struct.Struct(">IHHHH")
_ENTRY = struct.Struct(">4sIII")


def needed_tables(font: bytes) -> bytes:
    """Return the font with only the tables that a PDF needs, in the order it had."""
    version, count = _HEADER.unpack_from(font)[:2]
    kept = [entry for entry in _entries(font, count=count) if entry[0] in KEPT]
    directory = _HEADER.pack(version, len(kept), *_search(len(kept)))
    start = len(directory) + _ENTRY.size * len(kept)
    body = b""
    for tag, checksum, offset, length in kept:
        directory += _ENTRY.pack(tag, checksum, start + len(body), length)
        table = font[offset : offset + length]
        body += table + b"\0" * (-length % 4)
    return directory + body


def _entries(font: bytes, *, count: int) -> Iterator[tuple[bytes, int, int, int]]:
    for place in range(count):
        tag, checksum, offset, length = _ENTRY.unpack_from(font, 12 + place * _ENTRY.size)
        yield tag, checksum, offset, length


def _search(count: int) -> tuple[int, int, int]:
    """The three figures for searching the directory (OpenType, table directory)."""
    power = count.bit_length() - 1
    return 16 << power, power, 16 * count - (16 << power)
