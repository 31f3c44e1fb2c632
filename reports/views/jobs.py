"""Jobs that customers asked for, and the list of whom to call about due work."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import visible_premises
from registry.models import Firm, Premises
from reports.actions.jobs import CallTold, JobError, JobTold, cancel_job, keep_job, note_call
from reports.models import CallMade, Job
from reports.planning_forms import CallForm, CancelForm, JobForm
from reports.queries.assigning import firms_to_choose
from reports.queries.company_jobs import (
    own_firms_at,
    own_jobs,
    own_jobs_named,
    own_premises,
    without_promise,
)
from reports.queries.jobs import AHEAD, call_list, jobs_of
from reports.rounds.due_work import due_by_premises
from reports.rounds.ruled import ruled
from reports.views.round_changes import SEATS, may_change
from scheduling.views.desk import Desk, Seat, at_desk

COVERS_DAYS = 90


@require_GET
@at_desk(seats=SEATS)
def round_jobs(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The jobs that stand; a dispatcher's are those of the own companies."""
    found = jobs_of(_jobs(desk))
    context: dict[str, object] = {
        "desk": desk,
        "is_office": desk.seat is Seat.OFFICE,
        "jobs": found,
        "rules": ruled(desk.program),
    }
    if desk.seat is not Seat.OFFICE:
        shown = Job.objects.filter(pk__in=[job.pk for job in found])
        here = shown.filter(premises__in=_sites(desk).values("pk"))
        context["own"] = set(_may_end(desk, shown).values_list("pk", flat=True))
        context["here"] = set(here.values_list("pk", flat=True))
    return render(request, "reports/planning/jobs.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_job_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A job for a premises, as the customer asked for it."""
    site = _site(desk, pk)
    initial = {"asked_on": desk.today, "covers_until": desk.today + timedelta(days=COVERS_DAYS)}
    form = JobForm(request.POST or None, initial=initial)
    _choose_among(form, desk, site)
    if request.method == "POST" and form.is_valid():
        try:
            keep_job(premises=site, told=JobTold(**form.cleaned_data), hand=desk.hand())
        except JobError as refusal:
            form.add_error("covers_until", str(refusal))
        else:
            messages.success(request, f"The job is kept: {site} can be planned.")
            return redirect("round-jobs", code=desk.program.code)
    return _form(request, desk, form=form, title="New job", place=site, back="round-jobs")


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_job_cancel(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Cancel a job, with the reason."""
    job = get_object_or_404(_may_end(desk, _jobs(desk)).select_related("premises"), pk=pk)
    form = CancelForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            cancel_job(job=job, why=form.cleaned_data["why"], hand=desk.hand())
        except JobError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The job is cancelled. The next plan leaves it out.")
            return redirect("round-jobs", code=desk.program.code)
    return _form(
        request, desk, form=form, title="Cancel the job", place=job.premises, back="round-jobs"
    )


@require_GET
@at_desk(seats=SEATS)
def round_calls(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Whom to call about what is due and nobody asked for."""
    context = {
        "desk": desk,
        "rules": ruled(desk.program),
        "is_office": desk.seat is Seat.OFFICE,
        "calls": call_list(desk.program, today=desk.today, among=_to_call(desk)),
    }
    return render(request, "reports/planning/calls.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(seats=SEATS)
def round_call(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Note what came of a call; where it was asked for, the job is next."""
    site = _site(desk, pk)
    form = CallForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        here = Premises.objects.filter(pk=site.pk)
        owed = due_by_premises(program=desk.program, last_day=desk.today + AHEAD, among=here)
        due = [one.cure_by or one.due_on for one in owed.get(site.pk, ())]
        try:
            note_call(
                premises=site,
                told=CallTold(**told),
                due_on=max(due, default=None),
                today=desk.today,
                hand=desk.hand(),
            )
        except JobError as refusal:
            form.add_error("again_on", str(refusal))
        else:
            if told["outcome"] == CallMade.ORDERED:
                return redirect("round-job-new", code=desk.program.code, pk=site.pk)
            messages.success(request, "The call is noted.")
            return redirect("round-calls", code=desk.program.code)
    return _form(
        request, desk, form=form, title="What came of the call", place=site, back="round-calls"
    )


def _site(desk: Desk, pk: int) -> Premises:
    return get_object_or_404(_sites(desk), pk=pk)


def _sites(desk: Desk) -> QuerySet[Premises]:
    """Where a person may call and keep jobs: the office everywhere, a dispatcher at the own."""
    if not may_change(desk):
        raise PermissionDenied
    if desk.seat is Seat.OFFICE:
        return visible_premises(desk.person).filter(program=desk.program)
    return own_premises(desk.person, program=desk.program)


def _to_call(desk: Desk) -> QuerySet[Premises] | None:
    """The premises of a dispatcher's call list; None for all of the program."""
    sites = _sites(desk)
    if desk.seat is Seat.OFFICE:
        return None
    return without_promise(sites, since=datetime.combine(desk.today, time(), tzinfo=desk.zone))


def _jobs(desk: Desk) -> QuerySet[Job]:
    if not may_change(desk):
        raise PermissionDenied
    if desk.seat is Seat.OFFICE:
        return Job.objects.filter(program=desk.program)
    return own_jobs(desk.person, program=desk.program)


def _may_end(desk: Desk, jobs: QuerySet[Job]) -> QuerySet[Job]:
    return jobs if desk.seat is Seat.OFFICE else jobs.filter(own_jobs_named(desk.person))


def _choose_among(form: JobForm, desk: Desk, site: Premises) -> None:
    """The office names any accepted company or none, a dispatcher one of the own."""
    if desk.seat is Seat.OFFICE:
        firms = firms_to_choose(desk.program)
        form.choose_among(Firm.objects.filter(pk__in=[firm.pk for firm in firms]))
    else:
        form.choose_among(own_firms_at(desk.person, site), is_needed=True)


def _form(
    request: HttpRequest,
    desk: Desk,
    *,
    form: JobForm | CancelForm | CallForm,
    title: str,
    place: Premises,
    back: str,
) -> HttpResponse:
    context = {
        "desk": desk,
        "form": form,
        "title": title,
        "place": ", ".join(part for part in (place.name, place.address, place.phone) if part),
        "back": reverse(back, args=[desk.program.code]),
    }
    return render(request, "scheduling/form.html", context)
