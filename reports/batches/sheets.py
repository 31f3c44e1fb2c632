"""Sheets of reports going out: a template per type, and the rows to mend with a "why" column."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO, StringIO

import xlsxwriter

from registry.domain.formula_guard import guarded
from reports.domain.entry_item import Item, Kind
from reports.domain.entry_report import FINAL, INITIAL, FormAsked
from reports.domain.limits import Limits

WHY = "why"
CSV, XLSX = "csv", "xlsx"
TYPES = {
    CSV: "text/csv; charset=utf-8",
    XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_WIDEST = 40


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a template: what it holds, what is written in it, and whether it is needed."""

    header: str
    about: str
    values: str = ""
    choices: tuple[str, ...] = ()
    is_needed: bool = False


def columns_for(form: FormAsked) -> list[Column]:
    """The columns of a type's template: the items of its form, then the readings of both parts."""
    columns = [Column(header="Type", about="Type of the assembly", choices=(form.assembly_type,))]
    columns += [_of_item(item) for item in form.items]
    for part in (INITIAL, FINAL):
        for asked in form.readings:
            words = tuple(value for value, _ in asked.choices)
            other = f"a figure as 2.1, or “{asked.other}”" if asked.is_figure else ""
            columns.append(
                Column(
                    header=asked.header(part),
                    about=f"{asked.label}{', after repair' if part == FINAL else ''}. {asked.asks}",
                    values=other,
                    choices=words,
                    is_needed=asked.required and part == INITIAL,
                )
            )
    return [*columns, Column(header="Result", about="As declared", choices=("pass", "fail"))]


def _of_item(item: Item) -> Column:
    kinds = {Kind.DATE: "a date as 2026-11-25", Kind.TIME: "a time as 10:40"}
    choices = tuple(value for value, _ in item.choices if value)
    return Column(
        header=item.header,
        about=item.label,
        values=kinds.get(item.kind, ""),
        choices=choices,
        is_needed=bool(item.missing) and item.when is None,
    )


def template(form: FormAsked, *, limits: Limits, extension: str) -> bytes:
    """An empty sheet for reports of one type; as XLSX with a second sheet that explains it."""
    columns = columns_for(form)
    headers = [one.header for one in columns]
    if extension == CSV:
        return _csv([headers])
    out = BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False}) as book:
        bold, text = book.add_format({"bold": True}), book.add_format({"num_format": "@"})
        sheet = book.add_worksheet("Reports")
        for place, one in enumerate(columns):
            sheet.set_column(place, place, min(len(one.header) + 4, _WIDEST), text)
            sheet.write_string(0, place, one.header, bold)
            if one.choices:
                allowed = {"validate": "list", "source": list(one.choices), "error_type": "warning"}
                sheet.data_validation(1, place, 2000, place, allowed)
        sheet.freeze_panes(1, 0)
        told = book.add_worksheet("What goes where")
        told.set_column(0, 0, 28)
        told.set_column(1, 2, 60)
        lines = [("Column", "What it holds", "What is written in it"), *_explained(columns)]
        for place, line in enumerate(lines):
            for across, words in enumerate(line):
                told.write_string(place, across, words, *([bold] if place == 0 else []))
        told.write_string(len(lines) + 1, 0, f"Type {form.assembly_type}, {limits.title}.")
    return out.getvalue()


def _explained(columns: Sequence[Column]) -> Iterable[tuple[str, str, str]]:
    for one in columns:
        values = " or ".join(one.choices) or one.values
        needed = "needed" if one.is_needed else "if known"
        yield one.header, one.about, f"{values}; {needed}" if values else needed


def to_mend(
    *, headers: Sequence[str], rows: Iterable[tuple[Sequence[str], str]], extension: str
) -> bytes:
    """Rows as the same sheet again with the reason of each in a column "why".

    The column is left out of `headers` and of the rows where the sheet had it already. Every cell
    is safe for a spreadsheet, and reads back to what it was.
    """
    place = next((i for i, one in enumerate(headers) if one.strip().casefold() == WHY), None)

    def without(cells: Sequence[str]) -> list[str]:
        return [one for at, one in enumerate(cells) if at != place]

    table = [[*without(headers), WHY]]
    table += [_row(without(cells), why, width=len(table[0])) for cells, why in rows]
    safe = [[guarded(cell) for cell in row] for row in table]
    return _csv(safe) if extension == CSV else _xlsx(safe)


def _row(cells: list[str], why: str, *, width: int) -> list[str]:
    filled = [*cells[: width - 1], *([""] * (width - 1 - len(cells)))]
    return [*filled, why, *cells[width - 1 :]]


def _csv(table: Iterable[Sequence[str]]) -> bytes:
    out = StringIO()
    csv.writer(out).writerows(table)
    return out.getvalue().encode("utf-8-sig")


def _xlsx(table: Sequence[Sequence[str]]) -> bytes:
    out = BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        bold, text = book.add_format({"bold": True}), book.add_format({"num_format": "@"})
        sheet = book.add_worksheet("To mend")
        for across, header in enumerate(table[0]):
            sheet.set_column(across, across, min(len(header) + 4, _WIDEST), text)
        for down, row in enumerate(table):
            for across, cell in enumerate(row):
                # Written as text whatever it holds: a spreadsheet runs nothing of it.
                sheet.write_string(down, across, cell, bold if down == 0 else text)
        sheet.freeze_panes(1, 0)
    return out.getvalue()
