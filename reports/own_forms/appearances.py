"""The picture of a filled text field: what a printer draws, whatever the viewer thinks of forms.

PDF 1.7 (ISO 32000-1), 12.7.3.3 Variable Text: letters of a size of their own where the form gives
none, quadding, several lines, combs. The library's own pictures know no quadding and no size of
their own, and stop at the fourteen standard fonts, which most forms use.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pikepdf
from reportlab.pdfbase.pdfmetrics import stringWidth

FONT = "Helvetica"
_LARGEST, _SMALLEST = 11.0, 4.0
_LEADING = 1.2
_PAD = 2.0
_LEFT, _CENTRE = 0, 1
_COLOURS = {1: "g", 3: "rg", 4: "k"}


@dataclass(frozen=True, kw_only=True)
class Look:
    """How a field is written: its size (0: as it fits), colour, quadding, and what it is."""

    size: float
    colour: str
    quadding: int
    is_multiline: bool
    comb: int | None


def look_of(field: pikepdf.Object, *, is_multiline: bool, comb: int | None) -> Look:
    """What a field says of its letters, in itself or in what it inherits from."""
    written = _inherited(field, "/DA")
    words = str(written).split() if written is not None else []
    size = _number(words[words.index("Tf") - 1]) if "Tf" in words[1:] else 0.0
    quadding = _inherited(field, "/Q")
    return Look(
        size=max(size, 0.0),
        colour=_colour(words),
        quadding=int(quadding) if quadding is not None else _LEFT,
        is_multiline=is_multiline,
        comb=comb,
    )


def draw_text(pdf: pikepdf.Pdf, field: pikepdf.Object, *, text: str, look: Look) -> None:
    """Give every widget of a field the picture of its text, within its own border and ground.

    `text` holds only what Windows' letters (cp1252) have.
    """
    for widget in widgets_of(field):
        left, low, right, high = (float(one) for one in widget.Rect)
        wide, tall = abs(right - left), abs(high - low)
        ops = [*_ground(widget, wide=wide, tall=tall), b"/Tx BMC q"]
        ops.append(f"1 1 {max(wide - 2, 1):g} {max(tall - 2, 1):g} re W n".encode())
        ops += [b"BT", look.colour.encode(), *_lines(text, look, wide=wide, tall=tall), b"ET"]
        ops.append(b"Q EMC")
        stream = pdf.make_stream(b"\n".join(ops))
        stream.Type, stream.Subtype = pikepdf.Name.XObject, pikepdf.Name.Form
        stream.BBox = pikepdf.Array([0, 0, round(wide, 3), round(tall, 3)])
        font = pikepdf.Dictionary(
            Type=pikepdf.Name.Font,
            Subtype=pikepdf.Name.Type1,
            BaseFont=pikepdf.Name.Helvetica,
            Encoding=pikepdf.Name.WinAnsiEncoding,
        )
        stream.Resources = pikepdf.Dictionary(Font=pikepdf.Dictionary(Helv=font))
        widget.AP = pikepdf.Dictionary(N=stream)


def widgets_of(field: pikepdf.Object) -> Iterator[pikepdf.Object]:
    """The places on pages where a field stands."""
    kids = field.get("/Kids")
    if kids is None:
        yield field
        return
    for kid in kids:
        if "/Rect" in kid:
            yield kid


def _inherited(field: pikepdf.Object, name: str) -> pikepdf.Object | None:
    at: pikepdf.Object | None = field
    for _ in range(20):
        if at is None:
            return None
        found = at.get(name)
        if found is not None:
            return found
        at = at.get("/Parent")
    return None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return 0.0


def _colour(words: Sequence[str]) -> str:
    for count, operator in _COLOURS.items():
        if operator in words:
            place = words.index(operator)
            figures = words[max(place - count, 0) : place]
            if len(figures) == count and all(_is_figure(one) for one in figures):
                return " ".join([*figures, operator])
    return "0 g"


def _is_figure(text: str) -> bool:
    return text.replace(".", "", 1).isdigit()


def _ground(widget: pikepdf.Object, *, wide: float, tall: float) -> Iterator[bytes]:
    look = widget.get("/MK")
    if look is None:
        return
    ground, border = look.get("/BG"), look.get("/BC")
    if ground is not None and len(ground) in _COLOURS:
        paint = " ".join(f"{float(one):g}" for one in ground)
        yield f"q {paint} {_COLOURS[len(ground)]} 0 0 {wide:g} {tall:g} re f Q".encode()
    if border is not None and len(border) in _COLOURS:
        paint = " ".join(f"{float(one):g}" for one in border)
        pen = _COLOURS[len(border)].upper()
        yield f"q {paint} {pen} 1 w 0.5 0.5 {wide - 1:g} {tall - 1:g} re S Q".encode()


def _lines(text: str, look: Look, *, wide: float, tall: float) -> Iterator[bytes]:
    if look.comb:
        yield from _combed(text, look, wide=wide, tall=tall)
        return
    room = wide - 2 * _PAD - 2
    if look.is_multiline:
        size, lines = _fitted(text, look, room=room, tall=tall)
        top = tall - _PAD - size
    else:
        size, lines = _size_of(text, look, room=room, tall=tall), [text]
        top = (tall - size) / 2 + size * 0.22
    yield f"/Helv {size:g} Tf".encode()
    for number, line in enumerate(lines):
        space = room - stringWidth(line, FONT, size)
        across = _PAD + 1 + (0 if look.quadding == _LEFT else space / (2, 1)[look.quadding - 1])
        yield _at(across, top - number * size * _LEADING, line)


def _size_of(text: str, look: Look, *, room: float, tall: float) -> float:
    size = look.size or min(_LARGEST, tall * 0.7)
    # Written smaller rather than cut off, also where the form gives a size.
    while size > _SMALLEST and stringWidth(text, FONT, size) > room:
        size -= 0.5
    return max(size, _SMALLEST)


def _fitted(text: str, look: Look, *, room: float, tall: float) -> tuple[float, list[str]]:
    size = look.size or _LARGEST
    while True:
        lines = [line for one in text.split("\n") for line in _wrapped(one, size, room=room)]
        if len(lines) * size * _LEADING <= tall - 2 * _PAD or size <= _SMALLEST:
            return size, lines
        size -= 0.5


def _wrapped(text: str, size: float, *, room: float) -> list[str]:
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and stringWidth(longer, FONT, size) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _combed(text: str, look: Look, *, wide: float, tall: float) -> Iterator[bytes]:
    cell = wide / (look.comb or 1)
    size = look.size or min(_LARGEST, tall * 0.7, cell * 1.2)
    yield f"/Helv {size:g} Tf".encode()
    for place, sign in enumerate(text[: look.comb]):
        across = cell * place + (cell - stringWidth(sign, FONT, size)) / 2
        yield _at(across, (tall - size) / 2 + size * 0.22, sign)


def _at(across: float, up: float, text: str) -> bytes:
    told = text.encode("cp1252", "replace")
    for sign in (b"\\", b"(", b")"):
        told = told.replace(sign, b"\\" + sign)
    return f"1 0 0 1 {across:.2f} {up:.2f} Tm (".encode() + told + b") Tj"
