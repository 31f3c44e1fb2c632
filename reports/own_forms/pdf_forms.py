"""Fillable PDFs: what they ask for, and filling them so that every viewer and printer shows it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from io import BytesIO

import pikepdf
from pikepdf.form import (
    CheckboxField,
    ChoiceField,
    Form,
    RadioButtonGroup,
    TextField,
)

from reports.domain.own_forms import MOST_BLANKS, BlankKind, FormBlank
from reports.own_forms.appearances import draw_text, look_of

MOST_BYTES = 10 * 1024 * 1024
_SCRIPTED = ("/OpenAction", "/AA")


class OwnFormError(ValueError):
    """A file that is no fillable form; the message says what to do."""


@dataclass(frozen=True, kw_only=True)
class FilledPdf:
    """A filled form, and what could not go into it as it is."""

    content: bytes
    notes: tuple[str, ...]


def read_pdf_form(data: bytes) -> tuple[bytes, list[FormBlank]]:
    """The form without its scripts, and its blanks in their order. Raises OwnFormError."""
    if len(data) > MOST_BYTES:
        raise OwnFormError("The form is larger than 10 MB. Save it smaller.")
    try:
        with pikepdf.open(BytesIO(data)) as pdf:
            if "/AcroForm" not in pdf.Root or not len(pdf.Root.AcroForm.get("/Fields", [])):
                raise OwnFormError(
                    "The PDF has no fields to fill. Choose the fillable form, not a scan of it."
                )
            if "/XFA" in pdf.Root.AcroForm:
                raise OwnFormError(
                    "The form is of the old XFA kind. Print it to a plain fillable PDF first."
                )
            blanks = list(_blanks(Form(pdf)))
            _without_scripts(pdf)
            out = BytesIO()
            pdf.save(out, deterministic_id=True)
    except pikepdf.PasswordError as error:
        raise OwnFormError("The PDF has a password. Save it without one.") from error
    except pikepdf.PdfError as error:
        raise OwnFormError("The PDF is damaged, or no PDF at all. Save it anew.") from error
    if not blanks:
        raise OwnFormError("The PDF has no fields that can be filled.")
    if len(blanks) > MOST_BLANKS:
        raise OwnFormError(f"The form has {len(blanks)} fields; at most {MOST_BLANKS} are taken.")
    return out.getvalue(), blanks


def _blanks(form: Form) -> Iterator[FormBlank]:
    for name, found in form.items():
        # One name may stand in several places: they are filled alike.
        field = found[0] if isinstance(found, list) else found
        told = str(field.alternate_name or "")
        blank = _blank(field, name=name, label="" if told == name else told)
        if blank is not None and not field.is_read_only:
            yield blank


def _blank(field: object, *, name: str, label: str) -> FormBlank | None:
    if isinstance(field, TextField):
        return FormBlank(name=name, kind=BlankKind.TEXT, label=label, most=field.max_length)
    if isinstance(field, RadioButtonGroup):
        states = tuple(dict.fromkeys(_state(one.on_value) for one in field.options))
        return FormBlank(name=name, kind=BlankKind.BUTTONS, label=label, states=states)
    if isinstance(field, ChoiceField):
        options = tuple(str(one.export_value) for one in field.options)
        return FormBlank(name=name, kind=BlankKind.LIST, label=label, states=options)
    try:
        states = (_state(field.on_value),) if isinstance(field, CheckboxField) else ()
    except (RuntimeError, AttributeError, KeyError):
        return None  # a tick without a state to set cannot be filled
    return FormBlank(name=name, kind=BlankKind.TICK, label=label, states=states) if states else None


def _state(name: object) -> str:
    return str(name).removeprefix("/")


def _without_scripts(pdf: pikepdf.Pdf) -> None:
    """Take out what a viewer would run: a form of somebody else's is filled, not obeyed."""
    for name in _SCRIPTED:
        if name in pdf.Root:
            del pdf.Root[name]
    if "/Names" in pdf.Root and "/JavaScript" in pdf.Root.Names:
        del pdf.Root.Names["/JavaScript"]
    if "/CO" in pdf.Root.AcroForm:
        del pdf.Root.AcroForm["/CO"]
    for page in pdf.pages:
        if "/AA" in page.obj:
            del page.obj["/AA"]
    for one in pdf.objects:
        if isinstance(one, pikepdf.Dictionary) and "/AA" in one and "/FT" in one:
            del one["/AA"]


def fill_pdf(content: bytes, *, answers: Mapping[str, str]) -> FilledPdf:
    """The form with its blanks filled: text, ticks, buttons and lists, each drawn as it prints.

    `answers` holds text or the name of a state by the blank's name; an empty one leaves it as it
    is. What is too long, or has signs that the form's letters lack, is told in the notes.
    """
    notes: list[str] = []
    with pikepdf.open(BytesIO(content)) as pdf:
        form = Form(pdf)
        for name, found in form.items():
            answer = answers.get(name, "")
            if answer:
                for field in found if isinstance(found, list) else [found]:
                    notes += _fill(pdf, field, name=name, answer=answer)
        # Each blank carries its own picture now; a viewer need draw none.
        if "/NeedAppearances" in pdf.Root.AcroForm:
            del pdf.Root.AcroForm["/NeedAppearances"]
        out = BytesIO()
        pdf.save(out, deterministic_id=True)
    return FilledPdf(content=out.getvalue(), notes=tuple(dict.fromkeys(notes)))


def _fill(pdf: pikepdf.Pdf, field: object, *, name: str, answer: str) -> Iterator[str]:
    if isinstance(field, TextField):
        yield from _write(pdf, field, name=name, text=answer)
    elif isinstance(field, CheckboxField):
        field.checked = answer == _state(field.on_value)
    elif isinstance(field, RadioButtonGroup):
        chosen = [one for one in field.options if _state(one.on_value) == answer]
        if chosen:
            field.selected = chosen[0]
    elif isinstance(field, ChoiceField):
        field.value = answer
        look = look_of(field.obj, is_multiline=False, comb=None)
        draw_text(pdf, field.obj, text=_printable(answer), look=look)


def _write(pdf: pikepdf.Pdf, field: TextField, *, name: str, text: str) -> Iterator[str]:
    plain = "".join(one if one == "\n" or one >= " " else " " for one in text)
    lacking = sorted({one for one in plain if _printable(one) != one})
    if lacking:
        yield f"{name}: the form’s letters lack {' '.join(lacking)}; a question mark prints there"
    if not field.is_multiline:
        plain = " ".join(plain.split())
    if field.max_length and len(plain) > field.max_length:
        yield f"{name}: cut to the {field.max_length} signs it takes"
        plain = plain[: field.max_length]
    field.value = plain
    comb = field.max_length if field.is_combed else None
    look = look_of(field.obj, is_multiline=field.is_multiline, comb=comb)
    draw_text(pdf, field.obj, text=_printable(plain), look=look)


def _printable(text: str) -> str:
    """The text in the letters that every viewer has: Windows' own (cp1252), and line ends."""
    return text.encode("cp1252", "replace").decode("cp1252")
