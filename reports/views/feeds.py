"""Calendars to subscribe to: the page that makes and revokes addresses, and the feed itself."""

from __future__ import annotations

from datetime import UTC, timedelta
from hashlib import sha256

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from registry.models import Premises, Program, Tester
from reports.actions.feeds import feed_of, make_feed, revoke_feed, show
from reports.calendars import FeedHead, calendar_text
from reports.queries.feeds import (
    MOST_PREMISES_NAMED,
    day_of,
    events_of,
    feeds_seen,
    name_of_feed,
    premises_seen,
    testers_planned,
    testers_seen,
)
from scheduling.views.desk import EVERY_SEAT, Desk, Seat, at_desk

REFRESH = timedelta(hours=1)


@require_http_methods(["GET", "POST"])
@at_desk(seats=EVERY_SEAT)
def calendars(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Which calendars there are to subscribe to; a POST makes an address and shows it once."""
    made, fault = None, ""
    if request.method == "POST":
        _must_be_more_than_a_looker(desk)
        of = request.POST.get("of", "")
        subject = _subject(of, desk=desk)
        reader = request.POST.get("reader", "").strip()[:80]
        if subject is None:
            fault = "Choose whose calendar it is."
        elif not reader:
            fault = "Say who or what will read it, so that the right address can be revoked later."
        else:
            only = desk.program if of.startswith("visits-") else None
            site = _reached_at(request)
            made = make_feed(subject, reader=reader, hand=desk.hand(), only=only, site=site)
    feeds = list(feeds_seen(desk))
    context = {
        "desk": desk,
        "feeds": [(one, name_of_feed(one)) for one in feeds],
        "testers": list(testers_seen(desk).order_by("name", "certificate")),
        "visitors": list(testers_planned(desk).order_by("name", "certificate")),
        "premises": list(premises_seen(desk)[:MOST_PREMISES_NAMED]),
        **_chosen(request.POST.get("of", "") or request.GET.get("of", "")),
        "is_office": desk.seat is Seat.OFFICE,
        "busy_link": desk.seat is Seat.FIRM,
        "may_make": desk.seat is not Seat.OFFICE or Verb.EDIT in desk.verbs,
        "address": made[1] if made else "",
        "made": name_of_feed(made[0]) if made else "",
        "fault": fault,
    }
    response = render(request, "reports/calendars.html", context, status=422 if fault else 200)
    response["Cache-Control"] = "no-store, private"
    return response


def _reached_at(request: HttpRequest) -> str:
    """Where this site is reached: as the office says, else where this page was asked for.

    The latter is one of the hosts that the site answers to; any other was refused before.
    """
    if settings.BASE_URL_IS_GIVEN:
        return ""
    return f"{request.scheme}://{request.get_host()}"


@require_POST
@at_desk(seats=EVERY_SEAT)
def calendar_revoke(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Close one address for good."""
    _must_be_more_than_a_looker(desk)
    feed = get_object_or_404(feeds_seen(desk), pk=pk)
    revoke_feed(feed, at=desk.now)
    return redirect("calendars", desk.program.code)


@require_GET
def calendar_feed(request: HttpRequest, secret: str) -> HttpResponseBase:
    """The calendar behind a secret address; 304 where the reader has it as it is."""
    feed = feed_of(secret)
    if feed is None:
        raise Http404("There is no such calendar.")
    now = timezone.now()
    shown = show(feed, events_of(feed, today=day_of(feed, otherwise=now.date())), at=now)
    head = FeedHead(refresh=REFRESH)
    text = calendar_text(shown, name=name_of_feed(feed), feed=head).encode()
    response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'inline; filename="calendar.ics"'
    response["Cache-Control"] = "private, max-age=0, must-revalidate"
    response["X-Robots-Tag"] = "noindex, nofollow"
    response["ETag"] = f'"{sha256(text).hexdigest()[:32]}"'
    changed = max((one.revised_at for one in shown), default=feed.made_at)
    conditional = get_conditional_response(
        request,
        etag=response["ETag"],
        last_modified=int(changed.astimezone(UTC).timestamp()),
        response=response,
    )
    return conditional or response


def _must_be_more_than_a_looker(desk: Desk) -> None:
    """An address is a key to the program's data: who only looks hands out none."""
    if desk.seat is Seat.OFFICE and Verb.EDIT not in desk.verbs:
        raise PermissionDenied


def _chosen(of: str) -> dict[str, object]:
    """Which of the choices stands chosen: the one that was sent, or that a link names."""
    kind, _, number = of.partition("-")
    pk = int(number) if number.isdigit() else None
    return {
        "chosen_program": kind == "program",
        "chosen_tester": pk if kind == "tester" else None,
        "chosen_visits": pk if kind == "visits" else None,
        "chosen_premises": pk if kind == "premises" else None,
    }


def _subject(of: str, *, desk: Desk) -> Tester | Premises | Program | None:
    kind, _, number = of.partition("-")
    if kind == "program" and desk.seat is Seat.OFFICE:
        return desk.program
    if not number.isdigit():
        return None
    if kind == "tester":
        return testers_seen(desk).filter(pk=int(number)).first()
    if kind == "visits":
        return testers_planned(desk).filter(pk=int(number)).first()
    if kind == "premises":
        return premises_seen(desk).filter(pk=int(number)).first()
    return None
