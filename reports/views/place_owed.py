"""What a premises and its services owe, why, and every rung of the ladder, as of any day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_GET

from notices.domain.kinds import LetterKind
from notices.models import Notice
from notices.queries.left_at_places import left_at
from reports.queries.place_owed import facts_of, notices_at
from reports.wording.rungs import name_of_rung
from scheduling.domain.ladder_account import RungAccount, account
from scheduling.queries.duties import Duty, accounts_at
from scheduling.views.desk import EVERY_SEAT, Desk, Seat, at_desk
from scheduling.views.duty_words import DutyShown, name_of, shown
from scheduling.views.premises import seen_premises


@dataclass(frozen=True, kw_only=True)
class RungShown:
    """One rung with its name and what it is on the day."""

    name: str
    told: RungAccount


@dataclass(frozen=True, kw_only=True)
class NoticeShown:
    """A notice with its rung's name and the letter that carries it."""

    notice: Notice
    name: str
    letter_id: int | None


@require_GET
@at_desk(seats=EVERY_SEAT)
def place_owed(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The page, as of today or another day, as known now or then."""
    site = seen_premises(desk, pk)
    as_of = _day(request.GET, "as_of", desk.today) or desk.today
    known_on = _day(request.GET, "known_at", desk.today)
    known_at = datetime.combine(known_on, time(23, 59, 59), tzinfo=desk.zone) if known_on else None
    is_office = desk.seat is Seat.OFFICE
    accounts = accounts_at(
        site,
        as_of=as_of,
        known_at=known_at,
        left=left_at(site, as_of=as_of, known_on=known_on),
    )
    context = {
        "desk": desk,
        "premises": site,
        "is_office": is_office,
        "as_of": as_of,
        "known_on": known_on,
        "is_another_day": as_of != desk.today or known_on is not None,
        "duties": [
            _with_rungs(duty, today=as_of, is_office=is_office)
            for account in accounts
            for duty in account.duties()
        ],
        "past": [(name_of(one), one) for account in accounts for one in account.past()],
        "facts": facts_of(site, as_of=as_of, known_at=known_at) if is_office else [],
        "notices": [_notice(one) for one in notices_at(site, as_of=as_of)] if is_office else [],
    }
    return render(request, "reports/place_owed.html", context)


def _with_rungs(duty: Duty, *, today: date, is_office: bool) -> tuple[DutyShown, list[RungShown]]:
    if not is_office:
        return shown(duty, today=today), []
    told = account(
        ladder=duty.ladder,
        obligation=duty.obligation,
        left=duty.left,
        day=today,
        holidays=duty.ledger.holidays,
    )
    rungs = [RungShown(name=_name_of(one.rung, kind=duty.kind), told=one) for one in told]
    return shown(duty, today=today), rungs


def _notice(one: Notice) -> NoticeShown:
    live = [link.letter_id for link in one.carried.all() if link.is_live]
    kind = one.obligation.kind if one.obligation is not None else ""
    name = _name_of(one.rung, kind=kind)
    return NoticeShown(notice=one, name=name, letter_id=live[-1] if live else None)


def _name_of(rung: str, *, kind: str) -> str:
    """`Protection owed` where the rung of tests says `Test owed`."""
    return f"{kind.capitalize()} owed" if rung == LetterKind.TEST_OWED else name_of_rung(rung)


def _day(query: QueryDict, name: str, today: date) -> date | None:
    try:
        day = date.fromisoformat(query.get(name, "")[:10])
    except ValueError:
        return None
    return day if date(1950, 1, 1) <= day <= today + timedelta(days=366) else None
