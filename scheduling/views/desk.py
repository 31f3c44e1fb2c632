"""The desk a person works at: one program, their seat in it, what they may do, and its day."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import StrEnum
from functools import wraps
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponseBase
from django.utils import timezone

from registry.access import (
    Person,
    Verb,
    firms_of,
    memberships_of,
    programs_of,
    verbs_in,
    visible_premises,
)
from registry.changes import Hand
from registry.domain.kinds import PROGRAM_ROLES, Role
from registry.models import LoadBatch, Program
from scheduling.models import ProgramClock


class Seat(StrEnum):
    """From where a person looks at a program."""

    OFFICE = "office"
    FIRM = "testing company"
    OWNER = "owner"


@dataclass(frozen=True, kw_only=True)
class Desk:
    """A person at one program: seat, roles, verbs, and the day it is there."""

    program: Program
    person: Person
    seat: Seat
    role: str
    verbs: frozenset[Verb]
    today: date

    def may(self, verb: str) -> bool:
        """Whether an act is open to the person; templates ask by the verb's name."""
        return Verb[verb.upper()] in self.verbs

    @property
    def acts(self) -> dict[str, bool]:
        """Every verb by its name, for templates."""
        return {verb.name.lower(): verb in self.verbs for verb in Verb}

    @property
    def zone(self) -> ZoneInfo:
        """The program's zone."""
        return ZoneInfo(self.program.zone)

    @property
    def now(self) -> datetime:
        """The moment to record: now, or noon of the day a trial lives on."""
        if self.program.is_trial:
            return datetime.combine(self.today, time(12), tzinfo=self.zone)
        return timezone.now()

    def hand(self, reason: str = "") -> Hand:
        """Whose hand an act of this person is."""
        return Hand(by=name_of(self.person), at=self.now, reason=reason)


View = Callable[..., HttpResponseBase]
EVERY_SEAT: Final = (Seat.OFFICE, Seat.FIRM, Seat.OWNER)


def name_of(person: Person) -> str:
    """How a person is named in records: the full name, else the log-in name."""
    full = str(getattr(person, "get_full_name", lambda: "")())
    return full or person.get_username()


def day_at(program: Program) -> date:
    """Today in the program: by its zone's clock, or for a trial the day it lives on."""
    if program.is_trial:
        clock = ProgramClock.objects.filter(program=program).first()
        if clock and clock.last_run_on:
            return clock.last_run_on
        batch = LoadBatch.objects.filter(program=program).order_by("-as_of").first()
        if batch:
            return batch.as_of
    return timezone.now().astimezone(ZoneInfo(program.zone)).date()


def programs_seen_by(person: Person) -> list[Program]:
    """Every program a person may look into, from whichever seat, by code."""
    through_firm = visible_premises(person).values("program")
    everything = Q(pk__in=programs_of(person).values("pk")) | Q(pk__in=through_firm)
    mine = Q(own_firm__in=firms_of(person).values("pk"))
    approved = Q(approvals__firm__in=firms_of(person).values("pk"))
    found = Program.objects.filter(everything | mine | approved).distinct()
    return list(found.order_by("code"))


def desk_or_404(*, person: Person, code: str) -> Desk:
    """The person's desk at a program; Http404 where they have none there."""
    program = Program.objects.filter(code=code).first()
    if program is None:
        raise Http404("There is no such program.")
    seat, role = _seat(person=person, program=program)
    return Desk(
        program=program,
        person=person,
        seat=seat,
        role=role,
        verbs=verbs_in(person, program=program) if seat is Seat.OFFICE else frozenset(),
        today=day_at(program),
    )


def _seat(*, person: Person, program: Program) -> tuple[Seat, str]:
    roles = list(memberships_of(person).select_related("firm"))
    for membership in roles:
        if membership.program_id == program.pk and membership.role in PROGRAM_ROLES:
            return Seat.OFFICE, membership.role
    for membership in roles:
        firm = membership.firm
        if firm and firm.own_program_id == program.pk and membership.role == Role.DISPATCHER:
            return Seat.OFFICE, membership.role
    for membership in roles:
        if membership.firm_id and _works_for(membership.firm_id, program):
            return Seat.FIRM, membership.role
    for membership in roles:
        if membership.program_id == program.pk and membership.role == Role.PROPERTY_MANAGER:
            return Seat.OWNER, membership.role
    raise Http404("No program of yours has that code.")


def _works_for(firm_id: int, program: Program) -> bool:
    return (
        program.approvals.filter(firm=firm_id).exists()
        or program.assignments.filter(firm=firm_id, ended_on__isnull=True).exists()
        or Program.objects.filter(pk=program.pk, own_firm=firm_id).exists()
    )


def at_desk(
    *, verb: Verb | None = None, seats: Collection[Seat] = (Seat.OFFICE,)
) -> Callable[[View], View]:
    """A page of a program: logged in, seated there (else 404), and allowed (else 403).

    The view is called with the request, the desk, and what else stands in the address.
    """

    def seated(view: View) -> View:
        @wraps(view)
        @login_required
        def inner(request: HttpRequest, code: str, **rest: Any) -> HttpResponseBase:
            desk = desk_or_404(person=request.user, code=code)
            request.desk = desk  # type: ignore[attr-defined]
            if desk.seat not in seats or (verb is not None and verb not in desk.verbs):
                raise PermissionDenied
            return view(request, desk, **rest)

        return inner

    return seated
