"""Our typefaces as ReportLab embeds them: only what is used, only the tables that a PDF needs.

ISO 32000-1, 9.9: of an embedded TrueType font `glyf`, `head`, `hhea`, `hmtx`, `loca`, `maxp`
are needed and `cmap` in a simple font; all others are ignored and would be a twentieth of every
kept letter. (Our faces are not hinted: they have no `cvt `, `fpgm`, `prep`.) A letter's four
faces are a good part of what drawing it costs, so glyphs are cut out once and only put together
for each file. Layout: OpenType specification, chapters of the tables.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from reportlab.lib.rl_accel import fp_str
from reportlab.pdfbase.ttfonts import SUBSETN, TTFont, TTFontFace

from notices.rendering.pdf_objects import Written, placed, stream_of

_MORE: Final = 0x20
_WORDS: Final = 0x01
_SCALES: Final = ((0x08, 2), (0x40, 4), (0x80, 8))
"""Flags of a part of a composite glyph: more follow, two-byte arguments, bytes of its scale."""

_WIDTHS_KEPT: Final = 50_000
"""Words whose widths a face remembers."""


class EmbeddedFont(TTFont):  # type: ignore[misc]
    """A typeface that remembers how wide words are, and is embedded lightly."""

    def __init__(self, name: str, path: str) -> None:
        super().__init__(name, path, asciiReadable=0)
        self.face = _Face(path)
        self._units = lru_cache(maxsize=_WIDTHS_KEPT)(self._measured)

    def stringWidth(  # noqa: N802 - the library's name
        self, text: str | bytes, size: float, encoding: str = "utf8"
    ) -> float:
        """Return how wide a text stands, in points."""
        words = text if isinstance(text, str) else text.decode(encoding)
        return float(0.001 * size * self._units(words))

    def addObjects(self, doc: Any) -> None:  # noqa: N802
        """Write a font for each 256 letters that the document uses, and forget the document."""
        state = self.state[doc]
        state.frozen = 1
        fonts = doc.idToObject["BasicFonts"].dict
        for number, codes in enumerate(state.subsets):
            name = self.getSubsetInternalName(number, doc)[1:]
            tag = SUBSETN(number).decode("ascii")
            fonts[name] = Written(self._written(codes, name=name, tag=tag, doc=doc))
        del self.state[doc]

    def _written(self, codes: Sequence[int], *, name: str, tag: str, doc: Any) -> bytes:
        face = self.face
        base = f"{tag}+{face.name.decode('ascii')}"
        program = face.makeSubset(codes)
        file = placed(doc, stream_of(program, said=f"/Length1 {len(program)}"))
        descriptor = placed(doc, face.described(base, file=file))
        unicode = placed(doc, stream_of(_unicode_of(codes).encode("ascii")))
        widths = " ".join(map(face.width_of, codes))
        return (
            f"<< /Type /Font /Subtype /TrueType /Name /{name} /BaseFont /{base} /FirstChar 0 "
            f"/LastChar {len(codes) - 1} /Widths [ {widths} ] /ToUnicode {unicode} "
            f"/FontDescriptor {descriptor} >>"
        ).encode("ascii")

    def _measured(self, text: str) -> float:
        widths = self.face.charWidths
        default = self.face.defaultWidth
        return float(sum(widths.get(ord(letter), default) for letter in text))


class _Face(TTFontFace):  # type: ignore[misc]
    """The glyphs of a typeface, each cut out once."""

    def __init__(self, path: str) -> None:
        super().__init__(path)
        self._glyf = self.get_table("glyf")
        self._cut: dict[int, tuple[bytes, tuple[tuple[int, int], ...]]] = {}
        self._said_widths: dict[int, str] = {}
        self._fixed = {tag: self.get_table(tag) for tag in ("head", "hhea", "maxp")}

    def width_of(self, code: int) -> str:
        """Return a letter's width as a PDF states it."""
        said = self._said_widths.get(code)
        if said is None:
            said = self._said_widths[code] = fp_str(self.getCharWidth(code))
        return said

    def described(self, name: str, *, file: str) -> bytes:
        """Return the descriptor of a font of this face that is kept in `file`."""
        symbolic = (self.flags & ~(1 << 5)) | (1 << 2)
        return (
            f"<< /Type /FontDescriptor /FontName /{name} /Flags {symbolic} "
            f"/FontBBox [ {fp_str(*self.bbox)} ] /ItalicAngle {fp_str(self.italicAngle)} "
            f"/Ascent {fp_str(self.ascent)} /Descent {fp_str(self.descent)} "
            f"/CapHeight {fp_str(self.capHeight)} /StemV {fp_str(self.stemV)} "
            f"/MissingWidth {fp_str(self.defaultWidth)} /FontFile2 {file} >>"
        ).encode("ascii")

    def makeSubset(self, subset: Sequence[int]) -> bytes:  # noqa: N802 - the library's name
        """Return a font of these codes' glyphs, in their order."""
        glyphs, places = [0], {0: 0}
        codes = []
        for code in subset:
            glyph = self.charToGlyph.get(code, 0)
            if glyph not in places:
                places[glyph] = len(glyphs)
                glyphs.append(glyph)
            codes.append(places[glyph])
        for glyph in glyphs:  # it grows by the parts of composite glyphs
            for _, part in self._glyph(glyph)[1]:
                if part not in places:
                    places[part] = len(glyphs)
                    glyphs.append(part)
        glyf, loca, is_long = self._outlines(glyphs, places=places)
        metrics = b"".join(self._metric(glyph) for glyph in glyphs)
        return _font(
            {
                "cmap": _cmap(codes),
                "glyf": glyf,
                "head": self._fixed["head"][:8]
                + bytes(4)  # the check sum of the whole is written last
                + self._fixed["head"][12:50]
                + struct.pack(">H", is_long)
                + self._fixed["head"][52:],
                "hhea": self._fixed["hhea"][:34] + struct.pack(">H", len(glyphs)),
                "hmtx": metrics,
                "loca": loca,
                "maxp": self._fixed["maxp"][:4]
                + struct.pack(">H", len(glyphs))
                + self._fixed["maxp"][6:],
            }
        )

    def _metric(self, glyph: int) -> bytes:
        wide, left = self.hmetrics[glyph]
        return struct.pack(">HH", int(wide), int(left) & 0xFFFF)

    def _outlines(
        self, glyphs: Sequence[int], *, places: dict[int, int]
    ) -> tuple[bytes, bytes, bool]:
        """Return `glyf`, `loca`, and whether `loca` counts in single bytes."""
        pieces, offsets, at = [], [0], 0
        for glyph in glyphs:
            data, parts = self._glyph(glyph)
            for offset, part in parts:
                data = data[:offset] + struct.pack(">H", places[part]) + data[offset + 2 :]
            pieces.append(data)
            at += len(data)
            offsets.append(at)
        is_long = at >> 1 > 0xFFFF
        numbers = offsets if is_long else [offset >> 1 for offset in offsets]
        loca = struct.pack(f">{len(numbers)}{'L' if is_long else 'H'}", *numbers)
        return b"".join(pieces), loca, is_long

    def _glyph(self, glyph: int) -> tuple[bytes, tuple[tuple[int, int], ...]]:
        """Return a glyph's outline, and where it names which other glyphs."""
        found = self._cut.get(glyph)
        if found is None:
            data = self._glyf[self.glyphPos[glyph] : self.glyphPos[glyph + 1]]
            found = self._cut[glyph] = (data + bytes(-len(data) % 4), tuple(_parts(data)))
        return found


def _unicode_of(codes: Sequence[int]) -> str:
    """Return which letter each code of a font stands for (ISO 32000-1, 9.10.3), as one array.

    A line for each code would weigh almost twice as much, in each of a letter's faces.
    """
    letters = "".join(f"<{chr(code).encode('utf-16-be').hex().upper()}>" for code in codes)
    return (
        "/CIDInit/ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def\n"
        "/CMapName/Adobe-Identity-UCS def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<00><FF>\nendcodespacerange\n"
        f"1 beginbfrange\n<00><{len(codes) - 1:02X}>[{letters}]\nendbfrange\n"
        "endcmap\nCMapName currentdict/CMap defineresource pop\nend\nend"
    )


def _parts(data: bytes) -> list[tuple[int, int]]:
    """Where a composite glyph names its parts; a plain one has none."""
    found: list[tuple[int, int]] = []
    if len(data) < 12 or struct.unpack_from(">h", data)[0] >= 0:
        return found
    at, flags = 10, _MORE
    while flags & _MORE:
        flags, part = struct.unpack_from(">HH", data, at)
        found.append((at + 2, part))
        at += 8 if flags & _WORDS else 6
        at += next((size for flag, size in _SCALES if flags & flag), 0)
    return found


def _cmap(codes: Sequence[int]) -> bytes:
    """One table of format 6 for the Macintosh's Roman, as a symbolic font of a PDF is read."""
    length = 10 + 2 * len(codes)
    head = (0, 1, 1, 0, 0, 12, 6, length, 0, 0, len(codes))
    return struct.pack(f">{len(head) + len(codes)}H", *head, *codes)


def _font(tables: dict[str, bytes]) -> bytes:
    """Put tables together, their directory before them, with the check sums of all."""
    count = len(tables)
    power = count.bit_length() - 1
    head = struct.pack(">IHHHH", 0x10000, count, 16 << power, power, 16 * count - (16 << power))
    at, body, total, where = len(head) + 16 * count, [], 0, 0
    for tag, data in sorted(tables.items()):
        padded = data + bytes(-len(data) % 4)
        checked = _sum(padded)
        total += checked
        head += struct.pack(">4sIII", tag.encode(), checked, at, len(data))
        where = at + 8 if tag == "head" else where
        body.append(padded)
        at += len(padded)
    whole: Any = bytearray(head + b"".join(body))
    struct.pack_into(">I", whole, where, (0xB1B0AFBA - total - _sum(head)) & 0xFFFFFFFF)
    return bytes(whole)


def _sum(data: bytes) -> int:
    return int(sum(struct.unpack(f">{len(data) // 4}I", data)) & 0xFFFFFFFF)
