"""Bring an office's past along: tried first, then brought in, the same file both times."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from notices.actions.history import WHAT, HistoryReport, load_history
from registry.access import Verb
from registry.models import LoadBatch
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.queries.rulebooks import NoRulebookError, rulebook_in_force
from scheduling.views.desk import Desk, at_desk, name_of
from scheduling.views.loads import grouped
from scheduling.views.uploads import Upload, chosen_file, drop_upload, keep_upload, kept_upload

_SHOWN = 60


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.LOAD)
def history(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Choose a file, see what it would bring, then bring it in."""
    if request.method == "GET":
        return _page(request, desk)
    token = request.POST.get("token", "")
    if token:
        return _bring_in(request, desk, token=token)
    file, problem = chosen_file(request)
    if file is None:
        return _page(request, desk, problem=problem)
    upload = keep_upload(desk, name=(file.name or "file")[:200], data=file.read())
    try:
        report = _load(desk, upload, dry_run=True)
    except LoadRefusedError as refusal:
        return _page(request, desk, problem=str(refusal))
    return _page(request, desk, upload=upload, report=report)


def _bring_in(request: HttpRequest, desk: Desk, *, token: str) -> HttpResponse:
    upload = kept_upload(desk, token)
    if upload is None:
        return _page(request, desk, problem="That file is no longer kept. Choose it again.")
    try:
        report = _load(desk, upload, dry_run=False)
    except LoadRefusedError as refusal:
        return _page(request, desk, problem=str(refusal))
    drop_upload(token)
    messages.success(
        request,
        f"{report.tests:,} tests, {report.letters:,} letters and {report.extensions:,} extensions "
        f"came along; {report.base.set_aside:,} rows were set aside.",
    )
    return redirect("load-history", code=desk.program.code)


def _load(desk: Desk, upload: Upload, *, dry_run: bool) -> HistoryReport:
    return load_history(
        source=SourceFile(name=upload.name, data=upload.data),
        program=desk.program,
        as_of=desk.today,
        now=timezone.now(),
        by=name_of(desk.person),
        dry_run=dry_run,
    )


def _page(
    request: HttpRequest,
    desk: Desk,
    *,
    problem: str = "",
    upload: Upload | None = None,
    report: HistoryReport | None = None,
) -> HttpResponse:
    context = {
        "desk": desk,
        "problem": problem,
        "upload": upload,
        "report": report,
        "faults": grouped(report.base.rejected)[:_SHOWN] if report else [],
        "warnings": grouped(report.base.warnings)[:_SHOWN] if report else [],
        "batches": LoadBatch.objects.filter(program=desk.program, what=WHAT)[:8],
        "rungs": _rungs(desk),
    }
    return render(request, "notices/history.html", context, status=422 if problem else 200)


def _rungs(desk: Desk) -> list[str]:
    try:
        book = rulebook_in_force(program=desk.program, on=desk.today)
    except NoRulebookError:
        return []
    return [rung.key for rung in book.ladder.rungs]
