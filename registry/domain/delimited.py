"""Delimited text as offices save it: records are found even where a quote was never closed."""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

DELIMITERS = (",", ";", "\t")
LARGEST_CELL = 1_000_000
SAMPLE_RECORDS = 60
FEWEST_TELLING_CELLS = 4
UNCLOSED = (
    "A quotation mark is opened in this row and never closed, so its cells cannot be told apart. "
    'Close it, or write an inch mark inside quotes twice ("3/4""").'
)


@dataclass(frozen=True, kw_only=True)
class TextRecord:
    """One record as cut from the text; `fault` says what was wrong with its quotes, if anything."""

    cells: tuple[str, ...]
    fault: str | None = None


def cut_records(text: str) -> list[TextRecord]:
    """Cut decoded text into records. Empty lines are no records.

    Line breaks of every system are accepted, a lone carriage return too; inside quoted cells they
    become a line feed. The delimiter is a comma, a semicolon or a tab, whichever gives the header
    and the records below it the same number of cells. A first line `sep=;` decides it.
    """
    unified = text.replace("\r\n", "\n").replace("\r", "\n")
    declared, body = _declared_delimiter(unified)
    delimiter = declared or sniff_delimiter(body)
    return list(_records(lines=body.split("\n"), delimiter=delimiter))


def sniff_delimiter(text: str) -> str:
    """The delimiter that splits the header into most cells while the records agree with it."""
    lines = [line for line in text[:400_000].split("\n") if line.strip()][: SAMPLE_RECORDS * 3]
    best, best_score = ",", 0.0
    for delimiter in DELIMITERS:
        rows = list(csv.reader(iter(_ended(lines)), delimiter=delimiter))[:SAMPLE_RECORDS]
        score = _agreement([len(row) for row in rows])
        if score > best_score:
            best, best_score = delimiter, score
    return best


def ends_inside_quotes(*, text: str, delimiter: str) -> bool:
    """Whether a quoted cell is still open at the end (a quote inside is doubled: RFC 4180)."""
    inside, at_start, position = False, True, 0
    while position < len(text):
        char = text[position]
        if inside and char == '"':
            if text[position + 1 : position + 2] == '"':
                position += 1
            else:
                inside = False
        elif not inside:
            inside = at_start and char == '"'
            at_start = char in (delimiter, "\n")
        position += 1
    return inside


def _declared_delimiter(text: str) -> tuple[str | None, str]:
    first, _, rest = text.partition("\n")
    declaration = first.strip().strip('"').lower()
    if declaration.startswith("sep=") and first.strip().strip('"')[4:5] in ("", *DELIMITERS):
        return first.strip('"\n ')[4:5] or "\t", rest
    return None, text


def _agreement(widths: Sequence[int]) -> float:
    if not widths or widths[0] < 2:
        return 0.0
    header = widths[0]
    return header * (0.1 + sum(width == header for width in widths) / len(widths))


def _ended(lines: Sequence[str]) -> Iterator[str]:
    return (line + "\n" for line in lines)


def _records(*, lines: Sequence[str], delimiter: str) -> Iterator[TextRecord]:
    csv.field_size_limit(max(csv.field_size_limit(), LARGEST_CELL))
    width = 0
    start = 0
    while start < len(lines):
        if not lines[start].strip(" "):
            start += 1
            continue
        cells, used = _one_record(lines=lines, start=start, delimiter=delimiter)
        taken = lines[start : start + used]
        if _swallowed(taken=taken, delimiter=delimiter, width=width, cells=cells):
            cells, used = _broken_line(line=lines[start], delimiter=delimiter), 1
            yield TextRecord(cells=cells, fault=UNCLOSED)
        else:
            yield TextRecord(cells=cells)
        width = width or len(cells)
        start += used


def _one_record(*, lines: Sequence[str], start: int, delimiter: str) -> tuple[tuple[str, ...], int]:
    ahead = (lines[index] + "\n" for index in range(start, len(lines)))
    reader = csv.reader(ahead, delimiter=delimiter)
    try:
        cells = next(reader)
    except csv.Error:
        return (), max(reader.line_num, 1)
    return tuple(cells), reader.line_num


def _swallowed(*, taken: Sequence[str], delimiter: str, width: int, cells: Sequence[str]) -> bool:
    """Whether a quote ran away: open at the end of the file, or it ate lines that are records."""
    if not cells:
        return True
    if len(taken) == 1:
        return '"' in taken[0] and ends_inside_quotes(text=taken[0], delimiter=delimiter)
    if ends_inside_quotes(text="\n".join(taken), delimiter=delimiter):
        return True
    if width < FEWEST_TELLING_CELLS:
        return False
    whole_record = width - 1
    return any(
        line.count(delimiter) >= whole_record for cell in cells for line in cell.split("\n")[1:]
    )


def _broken_line(*, line: str, delimiter: str) -> tuple[str, ...]:
    return tuple(next(csv.reader([line], delimiter=delimiter, quoting=csv.QUOTE_NONE), ()))
