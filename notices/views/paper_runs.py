"""Paper runs: what waits to be printed, one run with its files, and what a person says of it."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from notices.actions.clocks import Day
from notices.delivery.certified_numbers import keep_numbers, listed_numbers, typed_numbers
from notices.delivery.late_mailing import MOST_MAILING, set_mailing_lag
from notices.delivery.paper_runs import (
    left_by_hand,
    mail_run,
    make_run,
    refuse_kept_in,
    spoiled,
    waiting_paper,
)
from notices.delivery.run_files import (
    list_digest,
    listed,
    mail_by,
    part_pdf,
    run_csv,
    run_pdf,
)
from notices.domain.kinds import Channel
from notices.domain.late import MAILED_LATE
from notices.domain.long_dates import long_date
from notices.domain.paper_runs import MOST_LETTERS, groups_of, tracking_number
from notices.models import Delivery, Letter, PaperRun
from notices.queries.pacing import days_kept_in, leaving_day, mailing_lag, quiet_days
from notices.queries.run_changes import run_changes
from registry.access import Verb
from registry.console import Refused
from scheduling.views.desk import Desk, at_desk

_RUNS = 100
_LINES = 500
_MOST_BYTES = 2_000_000


@require_GET
@at_desk(verb=Verb.LOOK)
def paper_runs(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What waits to be printed, by channel, and the runs, newest first."""
    waiting = waiting_paper(desk.program).order_by().values_list("channel").annotate(n=Count("pk"))
    quiet = None if desk.program.is_trial else quiet_days(desk.program, on=desk.today)
    context = {
        "desk": desk,
        "waiting": sorted(waiting),
        "most": MOST_LETTERS,
        "mailing_after": mailing_lag(desk.program),
        "quiet": quiet,
        "composed_for": leaving_day(desk.program, on=desk.today) if quiet else None,
        "runs": list(PaperRun.objects.filter(program=desk.program)[:_RUNS]),
    }
    return render(request, "notices/paper_runs.html", context)


@require_POST
@at_desk(verb=Verb.RELEASE)
def paper_run_make(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Gather what waits for a channel into a run."""
    channel = request.POST.get("channel", "")
    if channel not in set(Channel):
        messages.error(request, "Choose what to print. Nothing was made.")
        return redirect("letter-runs", code=desk.program.code)
    try:
        run = make_run(program=desk.program, channel=channel, day=_day(desk), hand=desk.hand())
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("letter-runs", code=desk.program.code)
    return redirect("letter-run", code=desk.program.code, pk=run.pk)


@require_POST
@at_desk(verb=Verb.SET_UP)
def letter_mailing(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Keep how many days of work the office needs from composing to mailing."""
    days = request.POST.get("days", "")
    if not (days.isascii() and days.isdigit() and int(days) <= MOST_MAILING):
        messages.error(request, f"Write a number of days from 0 to {MOST_MAILING}.")
        return redirect("letter-runs", code=desk.program.code)
    set_mailing_lag(desk.program, days=int(days), hand=desk.hand())
    messages.success(request, "Kept. Letters composed from now on name days counted from then.")
    return redirect("letter-runs", code=desk.program.code)


@require_GET
@at_desk(verb=Verb.LOOK)
def paper_run(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One run: its files, its letters in their places, and those to take out."""
    run = _run(desk, pk)
    letters = listed(run)
    can_mail = desk.acts["release"] and not run.mailed_on and not desk.program.is_trial
    days = {"first": run.made_on, "last": desk.today}
    context = {
        "desk": desk,
        "run": run,
        "letters": letters[:_LINES],
        "groups": groups_of([one.pages for one in letters]),
        "digest": list_digest(letters),
        "mail_by": mail_by(run) if can_mail else None,
        "done": run_changes(run),
        "fallen": [one for one in letters if one.state == "withdrawn"],
        "without_number": sum(not one.tracking for one in letters),
        "is_certified": run.channel == Channel.CERTIFIED,
        "can_act": desk.acts["release"],
        "can_mail": can_mail,
        "kept_in": days_kept_in(desk.program, **days) if can_mail else (),
    }
    return render(request, "notices/paper_run.html", context)


@require_GET
@at_desk(verb=Verb.LOOK)
def paper_run_pdf(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The run as one PDF, or `first` to `last` of its letters."""
    run = _run(desk, pk)
    first, last = _whole(request.GET.get("first", "")), _whole(request.GET.get("last", ""))
    if first and last:
        pdf, name = part_pdf(run, first=first, last=last), f"{first}-{last}"
    else:
        pdf, name = run_pdf(run), "all"
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = (
        f'attachment; filename="{desk.program.code}-run-{run.number}-{name}.pdf"'
    )
    response["Cache-Control"] = "private, max-age=0"
    return response


@require_GET
@at_desk(verb=Verb.LOOK)
def paper_run_csv(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The list of a run for a mail house."""
    run = _run(desk, pk)
    response = HttpResponse(run_csv(run), content_type="text/csv; charset=utf-8")
    name = f"{desk.program.code}-run-{run.number}.csv"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@require_POST
@at_desk(verb=Verb.RELEASE)
def paper_run_mailed(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say on which day the run was mailed; nothing else starts the clock."""
    run = _run(desk, pk)
    on = _date(request.POST.get("on", ""))
    also = [int(text) for text in request.POST.getlist("also") if text.isdigit()]
    if on is None:
        messages.error(request, "Write the day on which it was mailed. Nothing was changed.")
        return _back(desk, pk)
    try:
        if request.POST.get("all_the_same") != "yes":
            refuse_kept_in(run, on=on)
        left = mail_run(run, on=on, day=_day(desk), hand=desk.hand(), also=also)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return _back(desk, pk)
    many = "letter has" if len(left) == 1 else "letters have"
    messages.success(
        request, f"Run {run.number} was mailed {long_date(on)}: {len(left):,} {many} left."
    )
    late = Letter.objects.filter(deliveries__run=run, ended_reason__startswith=MAILED_LATE).count()
    if late:
        told = "1 letter names" if late == 1 else f"{late:,} letters name"
        messages.warning(
            request, f"{told} a day that is now too short; the next run composes corrected ones."
        )
    return _back(desk, pk)


@require_POST
@at_desk(verb=Verb.RELEASE)
def paper_run_numbers(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Keep certified numbers: typed or scanned a line each, or the list a mail house sent back."""
    run, lines = _run(desk, pk), []
    try:
        upload = request.FILES.get("list")
        if upload is not None and (upload.size or 0) > _MOST_BYTES:
            raise Refused("The file is larger than 2 MB. Send only the list of this run.")
        if upload is not None:
            lines += listed_numbers(upload.read(), name=(upload.name or "The file")[:100])
        lines += typed_numbers(request.POST.get("numbers", "")[:200_000].replace("\x00", ""))
    except Refused as refusal:
        messages.error(request, str(refusal))
        return _back(desk, pk)
    done = keep_numbers(run, lines=lines, hand=desk.hand())
    if done.kept:
        many = "number is" if done.kept == 1 else "numbers are"
        messages.success(request, f"{done.kept:,} {many} kept.")
    for row, why in done.doubts[:10]:
        messages.warning(request, f"Line {row}: {why}")
    for row, why in done.faults[:10]:
        messages.error(request, f"Line {row}: {why}")
    if not done.kept and not done.faults:
        messages.error(request, "No number was written, and no list was chosen.")
    return _back(desk, pk)


@require_POST
@at_desk(verb=Verb.RELEASE)
def paper_run_spoiled(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Keep which letters were spoiled, and hand their pages out again."""
    run = _run(desk, pk)
    first, last = _whole(request.POST.get("first", "")), _whole(request.POST.get("last", ""))
    try:
        spoiled(run, first=first, last=last, hand=desk.hand(request.POST.get("why", "")[:300]))
    except Refused as refusal:
        messages.error(request, str(refusal))
        return _back(desk, pk)
    where = reverse("letter-run-pdf", args=[desk.program.code, pk])
    return HttpResponseRedirect(f"{where}?first={first}&last={last}")


@require_POST
@at_desk(verb=Verb.RELEASE)
def delivery_left(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Say that one letter left without a run: handed over, hung on a door, mailed alone."""
    row = Delivery.objects.select_related("letter").filter(letter__program=desk.program, pk=pk)
    found = row.first()
    if found is None:
        raise Http404("No such delivery.")
    on, typed = _date(request.POST.get("on", "")), request.POST.get("tracking", "")[:60].strip()
    if on is None or (typed and not tracking_number(typed)):
        messages.error(request, "Write the day, and the number as printed or not at all.")
        return redirect("letter", code=desk.program.code, pk=found.letter_id)
    hand = desk.hand(request.POST.get("words", "")[:300])
    try:
        left_by_hand(found, on=on, tracking=tracking_number(typed), day=_day(desk), hand=hand)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "Kept: it has left by that way.")
    return redirect("letter", code=desk.program.code, pk=found.letter_id)


def _run(desk: Desk, pk: int) -> PaperRun:
    rows = PaperRun.objects.select_related("program")
    run = rows.filter(program=desk.program, pk=pk).first()
    if run is None:
        raise Http404("No such run.")
    return run


def _day(desk: Desk) -> Day:
    return Day(program=desk.program, on=desk.today, at=desk.now)


def _back(desk: Desk, pk: int) -> HttpResponse:
    return redirect("letter-run", code=desk.program.code, pk=pk)


def _whole(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 0


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None
