"""A file of reports: templates, what it would do, bringing it in, mending it, taking it back."""

from __future__ import annotations

from collections.abc import Sequence

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from registry.domain.headers import header_key
from registry.models import LoadBatch, SavedHeader
from registry.sheets import Sheet, UnreadableSheetError, parse_sheet
from reports.actions.fieldtests import (
    LoadedFile,
    LoadedTests,
    NotATestSheetError,
    load_field_tests,
)
from reports.actions.taking_back import TakeBackError, take_back_tests
from reports.batches.dependents import dependents_of
from reports.batches.headers import (
    LEAVE_OUT,
    hint_of,
    keep_meanings,
    meanings,
    unread_columns,
)
from reports.batches.preview import kept_not_counting, kept_rows_to_mend, rows_to_mend, told_of_load
from reports.batches.sheets import TYPES, WHY, template, to_mend
from reports.domain.fault_kinds import RowFault, by_kind
from reports.models import FieldTest, TakenBackBatch
from reports.queries.entry_forms import asked_of, limits_for
from reports.queries.methods import UnknownMethodError
from reports.queries.sheet_headers import WHAT
from reports.queries.test_batches import batches_of
from reports.views.entering import TESTED_TYPES
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.views.desk import Desk, Seat, at_desk
from scheduling.views.uploads import (
    Upload,
    chosen_file,
    drop_upload,
    keep_upload,
    kept_upload,
    revision_of,
)

_SHOWN = 60
_UNREAD = (UnreadableSheetError, NotATestSheetError, NoRulebookError, UnknownMethodError)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.LOAD)
def tests_load(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Choose a file of reports, or take a template; posted, it is tried and nothing is written."""
    problem = ""
    if request.method == "POST":
        file, problem = chosen_file(request)
        if file is not None:
            upload = keep_upload(desk, name=(file.name or "file")[:200], data=file.read())
            return redirect("tests-load-look", code=desk.program.code, token=upload.token)
    return _choose(request, desk, problem=problem)


def _choose(request: HttpRequest, desk: Desk, *, problem: str) -> HttpResponse:
    context = {
        "desk": desk,
        "batches": list(batches_of(desk.program)[:12]),
        "types": TESTED_TYPES,
        "problem": problem,
    }
    return render(request, "reports/batches/choose.html", context, status=422 if problem else 200)


@require_GET
@at_desk(seats=(Seat.OFFICE, Seat.FIRM))
def tests_template(request: HttpRequest, desk: Desk, kind: str, extension: str) -> HttpResponse:
    """An empty sheet for reports of one type, headed as the program's method asks."""
    found = next((one for one in TESTED_TYPES if one.value == kind), None)
    if found is None or extension not in TYPES:
        raise Http404("No template for such a type.")
    try:
        limits = limits_for(program=desk.program, on=desk.today)
        form = asked_of(program=desk.program, assembly_type=found, is_known=False, on=desk.today)
    except (NoRulebookError, UnknownMethodError) as error:
        raise Http404(str(error)) from error
    content = template(form, limits=limits, extension=extension)
    return _download(content, name=f"field-tests-{kind}", extension=extension)


def _download(content: bytes, *, name: str, extension: str) -> HttpResponse:
    response = HttpResponse(content, content_type=TYPES[extension])
    response["Content-Disposition"] = f'attachment; filename="{name}.{extension}"'
    return response


def _upload(desk: Desk, token: str) -> Upload:
    upload = kept_upload(desk, token)
    if upload is None:
        raise Http404("That file is no longer kept. Choose it again.")
    return upload


def _loaded(desk: Desk, upload: Upload, *, dry_run: bool) -> tuple[LoadedTests, Sheet]:
    sheet = parse_sheet(data=upload.data, name=upload.name)
    loaded = load_field_tests(
        program=desk.program,
        sheet=sheet,
        file=LoadedFile(name=upload.name, sha256=upload.sha256),
        method=None,
        as_of=desk.today,
        hand=desk.hand(),
        dry_run=dry_run,
    )
    return loaded, sheet


@require_GET
@at_desk(verb=Verb.LOAD)
def tests_load_look(request: HttpRequest, desk: Desk, token: str) -> HttpResponse:
    """What the file would do: counts, faults by kind, columns that are kept and not judged."""
    upload = _upload(desk, token)
    try:
        loaded, sheet = _loaded(desk, upload, dry_run=True)
    except _UNREAD as refusal:
        return _choose(request, desk, problem=_why(refusal, upload))
    told = told_of_load(loaded)
    context = {
        "desk": desk,
        "upload": upload,
        "told": told,
        "notes": sheet.notes,
        "unused": unread_columns(_unused(desk, told.unused)),
        "meanings": meanings(),
        "leave_out": LEAVE_OUT,
        "groups": [
            ("set-aside", "Set aside", told.faults[:_SHOWN]),
            ("not-counting", "Does not count", told.not_counting[:_SHOWN]),
            ("warning", "Look at", told.warnings[:_SHOWN]),
        ],
    }
    return render(request, "reports/batches/look.html", context)


def _unused(desk: Desk, headers: Sequence[str]) -> list[str]:
    """Columns nobody recognised and nobody said to leave out; "why" is our own."""
    said = SavedHeader.objects.filter(program=desk.program, what=WHAT).values_list("header")
    known = {header for (header,) in said} | {header_key(WHY)}
    return [one for one in headers if header_key(one) not in known]


def _why(refusal: Exception, upload: Upload) -> str:
    if not isinstance(refusal, NotATestSheetError):
        return str(refusal)
    headers = parse_sheet(data=upload.data, name=upload.name).headers
    return f"{refusal} {hint_of(headers)}".strip()


@require_POST
@at_desk(verb=Verb.LOAD)
def tests_load_columns(request: HttpRequest, desk: Desk, token: str) -> HttpResponse:
    """Keep what a column holds, for this file and every later one with that header."""
    upload = _upload(desk, token)
    headers = request.POST.getlist("header")
    said = dict(zip(headers, request.POST.getlist("meaning"), strict=False))
    try:
        among = parse_sheet(data=upload.data, name=upload.name).headers
    except UnreadableSheetError as refusal:
        return _choose(request, desk, problem=str(refusal))
    kept = keep_meanings(program=desk.program, said=said, among=among, hand=desk.hand())
    if kept:
        messages.success(request, f"Kept for {kept}; the next file with these headers is read so.")
    return redirect("tests-load-look", code=desk.program.code, token=token)


@require_GET
@at_desk(verb=Verb.LOAD)
def tests_load_rest(request: HttpRequest, desk: Desk, token: str, extension: str) -> HttpResponse:
    """The rows that would not land, or not count, as the same sheet with a column "why"."""
    if extension not in TYPES:
        raise Http404("No sheet of that kind.")
    upload = _upload(desk, token)
    try:
        loaded, sheet = _loaded(desk, upload, dry_run=True)
    except _UNREAD as refusal:
        return _choose(request, desk, problem=str(refusal))
    content = to_mend(headers=sheet.headers, rows=rows_to_mend(loaded, sheet), extension=extension)
    return _download(content, name="field-tests-to-mend", extension=extension)


@require_POST
@at_desk(verb=Verb.LOAD)
def tests_load_bring_in(request: HttpRequest, desk: Desk, token: str) -> HttpResponse:
    """Let the file land. Refused where the registry changed since it was looked at."""
    upload = _upload(desk, token)
    if str(revision_of(desk)) != request.POST.get("revision", ""):
        messages.error(request, "The registry has changed since you looked. Look again.")
        return redirect("tests-load-look", code=desk.program.code, token=token)
    try:
        loaded, _ = _loaded(desk, upload, dry_run=False)
    except _UNREAD as refusal:
        messages.error(request, str(refusal))
        return redirect("tests-load", code=desk.program.code)
    drop_upload(token)
    told = told_of_load(loaded)
    messages.success(
        request,
        f"{told.stored:,} stored, {told.counting:,} count; {told.set_aside:,} set aside.",
    )
    return redirect("tests-batch", code=desk.program.code, pk=loaded.batch_id or 0)


def _batch(desk: Desk, pk: int) -> LoadBatch:
    batch = LoadBatch.objects.filter(program=desk.program, what=WHAT, pk=pk).first()
    if batch is None:
        raise Http404("No such file of reports.")
    return batch


@require_GET
@at_desk(verb=Verb.LOOK)
def tests_batch(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A file that was brought in: what landed, what to mend, whether it can go back."""
    batch = _batch(desk, pk)
    back = TakenBackBatch.objects.filter(batch=batch).first()
    tests = FieldTest.objects.filter(batch=batch)
    faults = by_kind(
        RowFault(
            row=aside.row,
            column=str(fault.get("column") or ""),
            value=str(fault.get("value") or ""),
            message=str(fault.get("message", "")),
        )
        for aside in batch.set_aside.all()
        for fault in aside.faults
    )
    not_counting = kept_not_counting(batch)
    context = {
        "desk": desk,
        "batch": batch,
        "back": back,
        "stored": tests.count(),
        "counting": tests.filter(counts=True).count(),
        "aside": batch.set_aside.count(),
        "faults": faults[:_SHOWN],
        "not_counting": not_counting[:_SHOWN],
        "depends": [] if back else dependents_of(batch),
        "reports": list(back.reports.all()[:_SHOWN]) if back else [],
    }
    return render(request, "reports/batches/batch.html", context)


@require_GET
@at_desk(verb=Verb.LOAD)
def tests_batch_rest(request: HttpRequest, desk: Desk, pk: int, extension: str) -> HttpResponse:
    """The rows set aside and the reports that do not count, as the same sheet with "why"."""
    if extension not in TYPES:
        raise Http404("No sheet of that kind.")
    batch = _batch(desk, pk)
    content = to_mend(
        headers=[str(one) for one in batch.headers],
        rows=kept_rows_to_mend(batch),
        extension=extension,
    )
    return _download(content, name=f"field-tests-to-mend-{batch.pk}", extension=extension)


@require_POST
@at_desk(verb=Verb.LOAD)
def tests_batch_take_back(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take a file back as a whole, with a reason; refused where something depends on it."""
    batch = _batch(desk, pk)
    reason = request.POST.get("reason", "").replace("\x00", "").strip()
    try:
        tally = take_back_tests(
            program=desk.program, batch_id=batch.pk, as_of=desk.today, hand=desk.hand(reason)
        )
    except TakeBackError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(
            request,
            f"Taken back: {tally.reports:,} reports, {tally.facts:,} facts; "
            f"{tally.assemblies:,} assemblies stand where they stood.",
        )
    return redirect("tests-batch", code=desk.program.code, pk=pk)
