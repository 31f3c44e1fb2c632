"""Bring in a spreadsheet: choose it, see what it would do, let it land, mend the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from django.contrib import messages
from django.core.cache import cache
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from registry.domain.cells import Fault
from registry.load_reports import LoadReport
from registry.models import LoadBatch
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.loading.mending import mending_sheet
from scheduling.loading.openings import Wanted
from scheduling.loading.registry_load import STEPS, load_registry
from scheduling.views.desk import Desk, at_desk, name_of
from scheduling.views.uploads import Upload, drop_upload, keep_upload, kept_upload, revision_of

MOST_BYTES = 8 * 1024 * 1024
_SHOWN = 60


@dataclass(frozen=True, kw_only=True)
class FaultGroup:
    """Rows with one and the same fault: shown once, with the rows it is in."""

    column: str
    value: str
    message: str
    rows: list[int]

    @property
    def first_rows(self) -> list[int]:
        """The first few."""
        return self.rows[:8]

    @property
    def more(self) -> int:
        """How many more there are."""
        return max(len(self.rows) - 8, 0)


def grouped(faults: Sequence[Fault]) -> list[FaultGroup]:
    """Equal causes together, those with the most rows first."""

    def cause(fault: Fault) -> tuple[str, str]:
        return fault.column or "", fault.message

    found = []
    for (column, message), group in groupby(sorted(faults, key=cause), key=cause):
        members = list(group)
        found.append(
            FaultGroup(
                column=column,
                value=str(members[0].value or ""),
                message=message,
                rows=sorted({fault.row for fault in members}),
            )
        )
    return sorted(found, key=lambda one: (-len(one.rows), one.rows[0]))


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.LOAD)
def load(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Choose a file; posted, it is tried without writing anything, and the preview is shown."""
    batches = LoadBatch.objects.filter(program=desk.program, what="registry")[:8]
    if request.method == "GET":
        return render(request, "scheduling/load.html", {"desk": desk, "batches": batches})
    file = request.FILES.get("file")
    problem = _problem(file.size if file else None)
    if problem or file is None:
        context = {"desk": desk, "batches": batches, "problem": problem}
        return render(request, "scheduling/load.html", context, status=422)
    upload = keep_upload(desk, name=(file.name or "file")[:200], data=file.read())
    return redirect("load-preview", code=desk.program.code, token=upload.token)


def _problem(size: int | None) -> str:
    if size is None:
        return "No file was chosen. Choose a CSV or XLSX file."
    if size == 0:
        return "The file is empty. Choose the sheet with its rows."
    if size > MOST_BYTES:
        return "The file is larger than 8 MB. Split it, or have it loaded by the command."
    return ""


def _load(desk: Desk, upload: Upload, *, dry_run: bool) -> LoadReport:
    def told(step: str) -> None:
        cache.set(_line_key(upload.token), step, timeout=600)

    return load_registry(
        source=SourceFile(name=upload.name, data=upload.data),
        wanted=Wanted(code=desk.program.code, as_of=desk.today if desk.program.is_trial else None),
        now=timezone.now(),
        by=name_of(desk.person),
        dry_run=dry_run,
        told=told,
    )


def _line_key(token: str) -> str:
    return f"load-line-{token}"


def _upload(desk: Desk, token: str) -> Upload:
    upload = kept_upload(desk, token)
    if upload is None:
        raise Http404("That file is no longer kept. Choose it again.")
    return upload


@require_GET
@at_desk(verb=Verb.LOAD)
def load_preview(request: HttpRequest, desk: Desk, token: str) -> HttpResponse:
    """What the file would do: counts, faults grouped, columns as understood. Nothing is stored."""
    upload = _upload(desk, token)
    try:
        report = _load(desk, upload, dry_run=True)
    except LoadRefusedError as refusal:
        context = {"desk": desk, "problem": str(refusal), "batches": []}
        return render(request, "scheduling/load.html", context, status=422)
    context = {
        "desk": desk,
        "upload": upload,
        "report": report,
        "landing": report.created + report.updated,
        "faults": grouped(report.rejected)[:_SHOWN],
        "warnings": grouped(report.warnings)[:_SHOWN],
        "columns": list(report.columns.items()),
        "is_stale": upload.revision != revision_of(desk),
    }
    return render(request, "scheduling/load_preview.html", context)


@require_POST
@at_desk(verb=Verb.LOAD)
def load_bring_in(request: HttpRequest, desk: Desk, token: str) -> HttpResponse:
    """Let the file land. Refused where the registry changed since the preview."""
    upload = _upload(desk, token)
    if str(revision_of(desk)) != request.POST.get("revision", ""):
        messages.error(request, "The registry has changed since you looked. Look again.")
        return redirect("load-preview", code=desk.program.code, token=token)
    cache.delete(_line_key(upload.token))
    try:
        report = _load(desk, upload, dry_run=False)
    except LoadRefusedError as refusal:
        messages.error(request, str(refusal))
        return redirect("load", code=desk.program.code)
    drop_upload(token)
    messages.success(
        request,
        f"{report.created:,} new, {report.updated:,} changed, {report.unchanged:,} unchanged; "
        f"{report.set_aside:,} set aside.",
    )
    batch = LoadBatch.objects.filter(
        program=desk.program, what="registry", file_sha256=upload.sha256
    ).first()
    if batch is None:
        return redirect("registry", code=desk.program.code)
    return redirect("load-batch", code=desk.program.code, pk=batch.pk)


@require_GET
@at_desk(verb=Verb.LOAD)
def load_line(request: HttpRequest, desk: Desk, token: str) -> HttpResponse:
    """The live line while a file lands: which step runs, of how many."""
    step = str(cache.get(_line_key(token), ""))
    number = STEPS.index(step) + 1 if step in STEPS else 0
    context = {"desk": desk, "token": token, "step": step, "number": number, "of": len(STEPS)}
    return render(request, "scheduling/load_line.html", context)


@require_GET
@at_desk(verb=Verb.LOOK)
def load_batch(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A file that was brought in: its tally, and the rows set aside with their reasons."""
    batch = _batch(desk, pk)
    rows = list(batch.set_aside.all()[:200])
    context = {
        "desk": desk,
        "batch": batch,
        "tally": batch.tally,
        "rows": rows,
        "total": batch.set_aside.count(),
        "columns": list(batch.columns.items()),
    }
    return render(request, "scheduling/load_batch.html", context)


def _batch(desk: Desk, pk: int) -> LoadBatch:
    batch = LoadBatch.objects.filter(program=desk.program, pk=pk).first()
    if batch is None:
        raise Http404("No such file.")
    return batch


@require_GET
@at_desk(verb=Verb.LOAD)
def load_to_mend(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The rows set aside as the same sheet with a "why" column, ready to mend and bring in."""
    batch = _batch(desk, pk)
    text = mending_sheet(
        headers=[str(one) for one in batch.headers],
        rows=[(row.cells, row.faults) for row in batch.set_aside.all()],
    )
    response = HttpResponse(text.encode("utf-8-sig"), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="to-mend-{batch.pk}.csv"'
    return response
