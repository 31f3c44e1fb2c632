"""Reports on paper: the list that waits, keying one beside its picture, settling what differs."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Count, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from registry.domain.kinds import AssemblyType, PictureKind
from registry.models import Assembly
from registry.queries.removals import removal_of
from reports.actions.entries import FROM_PAPER
from reports.actions.papers import (
    Keyed,
    PaperError,
    keep_paper,
    key_paper,
    keyed_of,
    put_paper_aside,
    settle_paper,
    take_paper_up,
)
from reports.domain.entry_report import form_faults
from reports.domain.keyed_twice import differences
from reports.entering.form_page import HIDDEN, asked_by, form_context
from reports.entering.prefilled import prefilled_of_paper
from reports.models import Paper, PaperSpot
from reports.papers.scans import MOST_BYTES, ScanError
from reports.queries.entry_forms import limits_for
from reports.queries.entry_rights import assemblies_to_test
from reports.queries.methods import UnknownMethodError
from reports.views.entering import TESTED_TYPES, sender_of
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.views.desk import Desk, at_desk

MOST_AT_ONCE = 50
_SHOWN = 100
_DONE = 12
_FOUND = 20


def papers_of(desk: Desk) -> QuerySet[Paper]:
    """The papers of the program, without their bytes."""
    return Paper.objects.filter(program=desk.program).defer("content").select_related("entry")


def by_two(desk: Desk) -> bool:
    """Whether two people key each paper here."""
    return bool(desk.program.letterhead.get("papers_by_two"))


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.ENTER_TEST)
def papers(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Papers that wait to be keyed, the oldest first; posted, scans are taken in."""
    refused: list[tuple[str, str]] = []
    if request.method == "POST":
        refused = _take_in(request, desk)
        if not refused:
            return redirect("papers", code=desk.program.code)
    found = papers_of(desk).annotate(keyed=Count("keyings"))
    context = {
        "desk": desk,
        "refused": refused,
        "waiting": list(found.filter(entry__isnull=True, put_aside="")[:_SHOWN]),
        "waiting_total": found.filter(entry__isnull=True, put_aside="").count(),
        "aside": list(found.exclude(put_aside="").order_by("-put_aside_at")[:_DONE]),
        "done": list(found.filter(entry__isnull=False).order_by("-entry__received_at")[:_DONE]),
        "by_two": by_two(desk),
        "layouts": sorted(set(_layouts(desk))),
    }
    return render(request, "reports/papers/list.html", context, status=422 if refused else 200)


def _layouts(desk: Desk) -> list[str]:
    named = Paper.objects.filter(program=desk.program).exclude(layout="")
    return list(named.values_list("layout", flat=True).distinct()[:_SHOWN])


def _take_in(request: HttpRequest, desk: Desk) -> list[tuple[str, str]]:
    refused, kept, known = [], 0, 0
    files = request.FILES.getlist("file")[:MOST_AT_ONCE]
    if not files:
        return [("", "No file was chosen. Choose scans as PDF, JPEG or PNG.")]
    layout = request.POST.get("layout", "").replace("\x00", "").strip()
    for file in files:
        name = (file.name or "scan").replace("\x00", "")
        try:
            # One byte more than allowed is read at most: the rest is refused unread.
            _, is_new = keep_paper(
                program=desk.program,
                data=file.read(MOST_BYTES + 1),
                name=name,
                layout=layout,
                hand=desk.hand(),
            )
        except ScanError as error:
            refused.append((name, str(error)))
            continue
        kept, known = kept + is_new, known + (not is_new)
    if kept or known:
        told = f"{kept} kept." + (f" {known} came before and is kept once." if known else "")
        messages.success(request, told)
    return refused


def paper_or_404(desk: Desk, pk: int) -> Paper:
    """A paper of the program, without its bytes; Http404 where there is none."""
    paper = papers_of(desk).filter(pk=pk).first()
    if paper is None:
        raise Http404("No such paper.")
    return paper


@require_GET
@at_desk(verb=Verb.ENTER_TEST)
def paper(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One paper: its picture, what became of it, and the assembly to choose before it is keyed."""
    found = paper_or_404(desk, pk)
    search = request.GET.get("q", "")[:100].replace("\x00", "").strip()
    assemblies: list[Assembly] = []
    if search:
        seen = assemblies_to_test(desk)
        hits = seen.filter(serial__icontains=search) | seen.filter(
            premises__address__icontains=search
        )
        assemblies = list(hits.order_by("serial", "pk")[:_FOUND])
    keyings = list(found.keyings.all())
    context = {
        "desk": desk,
        "paper": found,
        "pages": _pages(desk, found),
        "search": search,
        "assemblies": assemblies,
        "types": TESTED_TYPES,
        "keyings": keyings,
        "by_two": by_two(desk),
        "is_mine": any(one.person_id == desk.person.pk for one in keyings),
        "is_open": not found.entry_id and not found.put_aside,
        "removal": removal_of(PictureKind.SCAN, found.pk),
    }
    return render(request, "reports/papers/paper.html", context)


def _pages(desk: Desk, found: Paper) -> list[dict[str, Any]]:
    rows = found.pages.defer("content").values("number", "width", "height")
    code = desk.program.code
    return [
        {**row, "href": reverse("paper-page", args=[code, found.pk, row["number"]])} for row in rows
    ]


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.ENTER_TEST)
@ensure_csrf_cookie
def paper_key(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The form beside the picture, for an assembly (`?assembly=`) or blank by type (`?type=`)."""
    found = paper_or_404(desk, pk)
    kind, assembly = _chosen(request, desk)
    if kind is None or found.entry_id or found.put_aside:
        return redirect("paper", code=desk.program.code, pk=pk)
    try:
        limits = limits_for(program=desk.program, on=desk.today)
    except (NoRulebookError, UnknownMethodError) as error:
        return render(request, "reports/entering/no_form.html", {"desk": desk, "why": str(error)})
    asked = asked_by(limits, assembly_type=kind, is_known=assembly is not None, is_keyed=True)
    values, faults = prefilled_of_paper(assembly), []
    if request.method == "POST":
        values = {name: str(value) for name, value in request.POST.items() if name not in HIDDEN}
        faults = form_faults(asked, values)
        if not faults:
            keyed = Keyed(fields=values, assembly_type=kind, assembly=assembly)
            return _keyed(request, desk, found, keyed)
    context = form_context(
        desk, asked=asked, values=values, faults=faults, limits=limits, assembly=assembly
    )
    context |= {
        "paper": found,
        "pages": _pages(desk, found),
        "spots": _spots(desk, found),
        "client_id": found.client_id,
        "by_two": by_two(desk),
    }
    return render(request, "reports/papers/key.html", context, status=422 if faults else 200)


def _spots(desk: Desk, found: Paper) -> dict[str, list[float]]:
    rows = PaperSpot.objects.filter(program=desk.program, layout=found.layout)
    return {one.field: [one.page, one.across, one.down] for one in rows}


def _chosen(request: HttpRequest, desk: Desk) -> tuple[AssemblyType | None, Assembly | None]:
    number, kind = request.GET.get("assembly", ""), request.GET.get("type", "")
    if number.isascii() and number.isdigit() and len(number) < 19:
        assembly = assemblies_to_test(desk).filter(pk=int(number)).first()
        return (AssemblyType(assembly.type), assembly) if assembly else (None, None)
    return next((one for one in TESTED_TYPES if one.value == kind), None), None


def _keyed(request: HttpRequest, desk: Desk, found: Paper, keyed: Keyed) -> HttpResponse:
    code = desk.program.code
    try:
        done = key_paper(
            paper_id=found.pk,
            keyed=keyed,
            sender=sender_of(desk, channel=FROM_PAPER),
            by_two=by_two(desk),
        )
    except PaperError as refusal:
        messages.error(request, str(refusal))
        return redirect("paper", code=code, pk=found.pk)
    if done.differences:
        return redirect("paper-settle", code=code, pk=found.pk)
    if done.entry is None:
        messages.success(request, "Kept. A second person keys it before it is brought in.")
        return redirect("papers", code=code)
    messages.success(request, f"Brought in: receipt {done.entry.receipt}.")
    waiting = papers_of(desk).filter(entry__isnull=True, put_aside="").first()
    if waiting is None:
        return redirect("enter-record", code=code, pk=done.entry.pk)
    return redirect("paper", code=code, pk=waiting.pk)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.ENTER_TEST)
def paper_settle(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """What two people read otherwise, side by side with the picture; one is chosen for each."""
    found = paper_or_404(desk, pk)
    keyings = list(found.keyings.all()[:2])
    if found.entry_id or len(keyings) < 2:
        return redirect("paper", code=desk.program.code, pk=pk)
    first, second = (keyed_of(one) for one in keyings)
    rows = differences(first.all_fields(), second.all_fields())
    why = ""
    if request.method == "POST":
        chosen = {one.field: request.POST.get(f"take_{one.field}", "") for one in rows}
        try:
            entry = settle_paper(
                paper_id=pk, chosen=chosen, sender=sender_of(desk, channel=FROM_PAPER)
            )
        except PaperError as refusal:
            why = str(refusal)
        else:
            messages.success(request, f"Brought in: receipt {entry.receipt}.")
            return redirect("enter-record", code=desk.program.code, pk=entry.pk)
    context = {
        "desk": desk,
        "paper": found,
        "pages": _pages(desk, found),
        "keyings": keyings,
        "rows": [(one, request.POST.get(f"take_{one.field}", "")) for one in rows],
        "why": why,
    }
    return render(request, "reports/papers/settle.html", context, status=422 if why else 200)


@require_POST
@at_desk(verb=Verb.ENTER_TEST)
def paper_aside(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Put a paper aside with a reason, or take it up again."""
    found = paper_or_404(desk, pk)
    if request.POST.get("act") == "take up":
        take_paper_up(paper_id=found.pk)
        return redirect("paper", code=desk.program.code, pk=pk)
    reason = request.POST.get("reason", "").replace("\x00", "").strip()
    try:
        put_paper_aside(paper_id=found.pk, hand=desk.hand(reason))
    except PaperError as refusal:
        messages.error(request, str(refusal))
        return redirect("paper", code=desk.program.code, pk=pk)
    messages.success(request, "Put aside. It can be taken up again.")
    return redirect("papers", code=desk.program.code)
