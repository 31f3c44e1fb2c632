"""Filling a form for one test or for a period: one PDF, a bundle of them, or rows of a CSV."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO, StringIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from registry.domain.formula_guard import guarded
from registry.sheets import UnreadableSheetError, parse_sheet
from reports.domain.own_forms import BlankKind, FormBlank, answer_for, blank_of, mapped_of
from reports.models import FieldTest, OwnForm
from reports.own_forms.pdf_forms import FilledPdf, OwnFormError, fill_pdf
from reports.own_forms.values import Values

PDF, CSV = "pdf", "csv"
_EPOCH = (2000, 1, 1, 0, 0, 0)


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A blank of a form and what goes into it for one test."""

    blank: FormBlank
    text: str


def read_csv_form(data: bytes, *, name: str) -> list[FormBlank]:
    """The columns of a CSV that a purveyor wants, as blanks. Raises OwnFormError."""
    try:
        sheet = parse_sheet(data=data, name=name)
    except UnreadableSheetError as error:
        raise OwnFormError(str(error)) from error
    return [FormBlank(name=header, kind=BlankKind.TEXT) for header in sheet.headers]


def blanks_of(form: OwnForm) -> list[FormBlank]:
    """The form's blanks in its order."""
    return [blank_of(one) for one in form.blanks]


def answers_for(form: OwnForm, values: Values) -> list[Answer]:
    """What goes into each blank for one test."""
    return [
        Answer(
            blank=blank,
            text=answer_for(
                blank,
                mapped_of(form.mapping.get(blank.name)),
                values,
                date_style=form.date_style,
            ),
        )
        for blank in blanks_of(form)
    ]


def filled_pdf(form: OwnForm, values: Values) -> FilledPdf:
    """The form filled for one test, with notes on what did not fit."""
    answers = {one.blank.name: one.text for one in answers_for(form, values)}
    return fill_pdf(bytes(form.content), answers=answers)


def filled_csv(form: OwnForm, rows: Iterable[Values]) -> bytes:
    """The columns the purveyor wants with a row for each test's values; safe for a spreadsheet."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow([guarded(blank.name) for blank in blanks_of(form)])
    for values in rows:
        writer.writerow([guarded(one.text) for one in answers_for(form, values)])
    return out.getvalue().encode("utf-8-sig")


def bundle(form: OwnForm, tests: Sequence[FieldTest], rows: Sequence[Values]) -> bytes:
    """One ZIP with a filled PDF for each test, and a list of notes where something did not fit.

    `rows` holds the values of each test, in the same order.
    """
    out = BytesIO()
    notes: list[str] = []
    with ZipFile(out, "w", ZIP_DEFLATED) as folder:
        for test, values in zip(tests, rows, strict=True):
            filled = filled_pdf(form, values)
            name = file_name(test)
            folder.writestr(ZipInfo(name, date_time=_EPOCH), filled.content, ZIP_DEFLATED)
            notes += [f"{name}: {note}" for note in filled.notes]
        if notes:
            text = "\n".join([*notes, ""])
            folder.writestr(ZipInfo("look-at.txt", date_time=_EPOCH), text, ZIP_DEFLATED)
    return out.getvalue()


def file_name(test: FieldTest) -> str:
    """How a filled PDF is called: `2026-11-25-A100-17.pdf`."""
    serial = re.sub(r"[^A-Za-z0-9]+", "-", test.serial).strip("-")[:40] or "no-serial"
    return f"{test.tested_on:%Y-%m-%d}-{serial}-{test.pk}.pdf"
