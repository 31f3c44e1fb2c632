"""Erases a tester or a user: how they are named and reached; what they did stays signed."""

from __future__ import annotations

from datetime import date
from typing import Any

from registry.models import Change, Membership, Program, Tester
from reports.domain.blackening import Blackener
from reports.erasing.acting import Values, Work
from reports.erasing.party import ERASED
from reports.models import BusyCalendar, CalendarFeed


def erase_tester(tester: Tester, *, program: Program, today: date) -> Work:
    """Take the name, where they start from, their days and calendars.

    The certificate number stays, and the name on reports of tests: rules ask that a report says
    who tested (common practice; see the section on field tests of each rulebook).
    """
    work = Work(program=program, black=Blackener([tester.name]), today=today)
    work.delete("calendars", BusyCalendar.objects.filter(tester=tester))
    work.delete("calendar addresses", CalendarFeed.objects.filter(tester=tester))
    changes = Change.objects.filter(
        what__in=("tester", "working days"), subject_id=tester.pk, firm=tester.firm_id
    )
    for change in changes:
        work.set("changes", change, {"before": {}, "after": {}, "label": ERASED})
    for seat in Membership.objects.filter(tester=tester):
        work.set("roles", seat, {"tester": None})
    values: Values = {"name": "", "depot_lat": None, "depot_lon": None, "hours": {}, "days_off": [],
              "skills": []}  # fmt: skip
    work.set("tester", tester, values)
    return work


def erase_user(user: Any, *, program: Program, today: date) -> Work:
    """Close the log-in and take name and address; what they signed or released keeps their name."""
    full = f"{user.first_name} {user.last_name}".strip()
    work = Work(program=program, black=Blackener([full]), today=today)
    work.delete("roles", Membership.objects.filter(user=user))
    user.set_unusable_password()
    values = {
        "username": f"erased-{user.pk}",
        "first_name": "",
        "last_name": "",
        "email": "",
        "password": user.password,
        "is_active": False,
    }
    work.set("log-in", user, values)
    return work
