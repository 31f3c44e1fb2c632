"""Who can be erased, and what is still open with them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib.auth import get_user_model
from django.db.models import Q

from notices.domain.kinds import UNSENT_STATES
from notices.domain.shutoffs import FeeState, ShutoffState
from notices.models import Fee, Letter, Objection, Shutoff
from registry.domain.kinds import Role
from registry.models import (
    Approval,
    Erasure,
    Membership,
    Party,
    Premises,
    PremisesParty,
    Program,
    Tester,
)
from reports.models import Stop
from scheduling.models import Obligation

PARTY, TESTER, USER = "party", "tester", "user"
KINDS = (PARTY, TESTER, USER)
MOST = 20
ENDED = (ShutoffState.BACK.value, ShutoffState.CALLED_OFF.value)


@dataclass(frozen=True, kw_only=True)
class Person:
    """One who can be erased: the row, and the name a person types to say that they mean it."""

    what: str
    row: Any
    name: str

    @property
    def pk(self) -> int:
        """The row's number."""
        return int(self.row.pk)


def person_of(program: Program, *, what: str, pk: int) -> Person | None:
    """Return the person of a program's own, or None; one erased already is none."""
    if what == PARTY:
        row: Any = Party.objects.filter(program=program, pk=pk).first()
        name = row.name if row else ""
    elif what == TESTER:
        row = Tester.objects.filter(approvals__program=program, pk=pk).distinct().first()
        name = (row.name or row.certificate) if row else ""
    else:
        row = _users(program).filter(pk=pk).first()
        name = row.get_username() if row else ""
    gone = Erasure.objects.filter(what=what, subject_id=pk).exists()
    return Person(what=what, row=row, name=name) if row is not None and not gone else None


def people_named(program: Program, *, words: str) -> list[Person]:
    """Return parties, testers and users whose name holds the words, at most twenty of each.

    Parties by their address too: many are called alike.
    """
    text = words.strip()
    if not text:
        return []
    named = Q(name__icontains=text) | Q(address__icontains=text)
    parties = Party.objects.filter(named, program=program).order_by("name", "pk")
    testers = Tester.objects.filter(approvals__program=program).filter(
        Q(name__icontains=text) | Q(certificate__icontains=text)
    )
    users = _users(program).filter(
        Q(username__icontains=text) | Q(last_name__icontains=text) | Q(first_name__icontains=text)
    )
    erased = set(Erasure.objects.filter(program=program).values_list("what", "subject_id"))
    found = [
        *(Person(what=PARTY, row=row, name=row.name) for row in parties[:MOST]),
        *(
            Person(what=TESTER, row=row, name=row.name or row.certificate)
            for row in testers.distinct().order_by("certificate")[:MOST]
        ),
        *(
            Person(what=USER, row=row, name=row.get_username())
            for row in users.order_by("username")[:MOST]
        ),
    ]
    return [one for one in found if (one.what, one.pk) not in erased]


def why_never(person: Person, *, program: Program, by: Any) -> str:
    """Return why a person cannot be erased whatever the reason, or nothing."""
    if person.what != USER:
        return ""
    if by is not None and person.pk == by.pk:
        return "You cannot erase yourself: ask another administrator."
    elsewhere = Membership.objects.filter(user=person.row).exclude(program=program)
    if elsewhere.exists():
        return "This person works elsewhere too: that role is ended there first."
    others = Membership.objects.filter(program=program, role=Role.ADMINISTRATOR)
    if not others.exclude(user=person.row).exists():
        return "This is the only administrator: name another one first."
    return ""


def sites_of(party: Party) -> list[int]:
    """Return the premises at which a party is, or was, anything."""
    rows = PremisesParty.objects.filter(party=party).values_list("premises_id", flat=True)
    return sorted(set(rows))


def letters_to(party: Party) -> Any:
    """Return the letters to a party."""
    mine = Q(recipient=party) | Q(recipient_key=f"party:{party.pk}")
    return Letter.objects.filter(mine, program=party.program)


def open_matters(person: Person, *, program: Program, today: date) -> list[str]:
    """Return what is open with a person, each in words; while any is, erasing must be forced."""
    if person.what == PARTY:
        return list(_open_with_party(person.row, today=today))
    if person.what == TESTER:
        return list(_open_with_tester(person.row, program=program, today=today))
    return []


def _open_with_party(party: Party, *, today: date) -> Iterator[str]:
    running = PremisesParty.objects.filter(party=party).filter(
        Q(until_on__isnull=True) | Q(until_on__gt=today)
    )
    for role in running.select_related("premises").order_by("pk")[:MOST]:
        yield f"is {role.role} of {role.premises.address} as recorded"
    sites = list(running.values_list("premises_id", flat=True))
    at_sites = Q(assembly__premises__in=sites) | Q(premises__in=sites)
    owed = Obligation.objects.filter(
        at_sites | Q(connection__premises__in=sites),
        opened_on__isnull=False,
        closed_on__isnull=True,
    ).count()
    if owed:
        yield f"obligations open there: {owed:,}"
    mine = sites_of(party)
    orders = Shutoff.objects.filter(premises__in=mine).exclude(state__in=ENDED).count()
    if orders:
        yield f"orders to shut off water that have not ended: {orders:,}"
    fees = Fee.objects.filter(premises__in=mine, state=FeeState.OWED).count()
    if fees:
        yield f"fees owed: {fees:,}"
    undecided = Objection.objects.filter(premises__in=mine, decided_at__isnull=True).count()
    if undecided:
        yield f"objections not decided: {undecided:,}"
    unsent = letters_to(party).filter(state__in=UNSENT_STATES).count()
    if unsent:
        yield f"letters that have not left: {unsent:,}"


def _open_with_tester(tester: Tester, *, program: Program, today: date) -> Iterator[str]:
    accepted = Approval.objects.filter(program=program, tester=tester).filter(
        Q(valid_to__isnull=True) | Q(valid_to__gte=today)
    )
    if accepted.exists():
        yield "is accepted by this program: end the acceptance first"
    if Approval.objects.filter(tester=tester).exclude(program=program).exists():
        yield "is known to another program too, which loses the name as well"
    visits = Stop.objects.filter(round__tester=tester, round__on__gte=today).count()
    if visits:
        yield f"visits planned from today on: {visits:,}"


def _users(program: Program) -> Any:
    mine = Membership.objects.filter(program=program).values("user")
    return get_user_model().objects.filter(pk__in=mine)


def known_premises(party: Party) -> list[Premises]:
    """Return the premises of a party, for what is blackened there."""
    return list(Premises.objects.filter(pk__in=sites_of(party)).order_by("pk"))
