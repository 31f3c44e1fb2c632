"""Jobs that customers asked for, and the list of whom to call about due work."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from registry.access import Verb, visible_premises
from registry.models import Firm, Premises
from reports.actions.jobs import CallTold, JobError, JobTold, cancel_job, keep_job, note_call
from reports.models import CallMade, Job
from reports.planning_forms import CallForm, CancelForm, JobForm
from reports.queries.assigning import firms_to_choose
from reports.queries.jobs import call_list, jobs_of
from reports.rounds.due_work import due_by_premises
from reports.rounds.ruled import ruled
from scheduling.views.desk import Desk, at_desk

COVERS_DAYS = 90


@require_GET
@at_desk(verb=Verb.PLAN)
def round_jobs(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The jobs that stand."""
    context = {"desk": desk, "jobs": jobs_of(desk.program), "rules": ruled(desk.program)}
    return render(request, "reports/planning/jobs.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.PLAN)
def round_job_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """A job for a premises, as the customer asked for it."""
    site = _site(desk, pk)
    initial = {"asked_on": desk.today, "covers_until": desk.today + timedelta(days=COVERS_DAYS)}
    form = JobForm(request.POST or None, initial=initial)
    firms = firms_to_choose(desk.program)
    form.fields["firm"].queryset = Firm.objects.filter(  # type: ignore[attr-defined]
        pk__in=[firm.pk for firm in firms]
    )
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
@at_desk(verb=Verb.PLAN)
def round_job_cancel(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Cancel a job, with the reason."""
    job = get_object_or_404(Job.objects.select_related("premises"), pk=pk, program=desk.program)
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
@at_desk(verb=Verb.PLAN)
def round_calls(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Whom to call about what is due and nobody asked for."""
    context = {
        "desk": desk,
        "rules": ruled(desk.program),
        "calls": call_list(desk.program, today=desk.today),
    }
    return render(request, "reports/planning/calls.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.PLAN)
def round_call(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Note what came of a call; where it was asked for, the job is next."""
    site = _site(desk, pk)
    form = CallForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        owed = due_by_premises(program=desk.program, last_day=desk.today + timedelta(days=60))
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
    return get_object_or_404(visible_premises(desk.person), pk=pk, program=desk.program)


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
