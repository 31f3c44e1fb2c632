"""Who may see and do what: every query of a page starts from here."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum
from typing import TypeAlias

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.http import Http404

from registry.domain.kinds import FIRM_ROLES, PROGRAM_ROLES, Role
from registry.models import (
    Assembly,
    Assignment,
    Firm,
    Membership,
    Premises,
    PremisesParty,
    Program,
)

Person: TypeAlias = AbstractBaseUser | AnonymousUser


class Verb(StrEnum):
    """What may be done in a program, beyond looking."""

    LOOK = "look at the program"
    EDIT = "change the registry and record facts"
    LOAD = "bring in a file"
    RELEASE = "release letters"
    SIGN = "sign an order"
    SETTLE = "decide what waits for a person"
    SET_UP = "change the program's settings"
    PLAN = "plan rounds"
    ENTER_TEST = "enter a field test"


_PROGRAM_VERBS: dict[Role, frozenset[Verb]] = {
    Role.ADMINISTRATOR: frozenset(Verb),
    Role.CLERK: frozenset(Verb) - {Verb.SIGN, Verb.SET_UP},
    Role.AUDITOR: frozenset({Verb.LOOK}),
}

_OWN_CUSTOMERS = _PROGRAM_VERBS[Role.CLERK] | {Verb.SET_UP}
"""A testing company that stands alone sets up its own rulebook and settings; it signs no order."""


def memberships_of(user: Person) -> QuerySet[Membership]:
    """The roles of a person; none for a stranger."""
    if not user.is_authenticated:
        return Membership.objects.none()
    return Membership.objects.filter(user_id=user.pk)


def programs_of(user: Person, *, roles: Collection[Role] = PROGRAM_ROLES) -> QuerySet[Program]:
    """Programs in whose office the person works, in one of `roles`."""
    mine = memberships_of(user).filter(program=OuterRef("pk"), role__in=list(roles))
    return Program.objects.filter(Exists(mine))


def firms_of(user: Person, *, roles: Collection[Role] = FIRM_ROLES) -> QuerySet[Firm]:
    """Testing companies the person works for, in one of `roles`."""
    mine = memberships_of(user).filter(firm=OuterRef("pk"), role__in=list(roles))
    return Firm.objects.filter(Exists(mine))


def _seen_by_firm(user: Person) -> Q:
    firms = firms_of(user).values("pk")
    assigned = Assignment.objects.filter(
        premises=OuterRef("pk"), firm__in=firms, ended_on__isnull=True
    )
    return Q(Exists(assigned)) | Q(program__own_firm__in=firms)


def _seen_by_party(user: Person) -> Q:
    parties = memberships_of(user).filter(role=Role.PROPERTY_MANAGER).values("party")
    mine = PremisesParty.objects.filter(
        premises=OuterRef("pk"), party__in=parties, until_on__isnull=True
    )
    return Q(Exists(mine))


def visible_premises(user: Person) -> QuerySet[Premises]:
    """Premises the person may see, whichever way: office, assignment, or as their manager."""
    if not user.is_authenticated:
        return Premises.objects.none()
    office = Q(program__in=programs_of(user).values("pk"))
    return Premises.objects.filter(office | _seen_by_firm(user) | _seen_by_party(user))


def visible_assemblies(user: Person) -> QuerySet[Assembly]:
    """Assemblies at premises the person may see."""
    return Assembly.objects.filter(premises__in=visible_premises(user).values("pk"))


def verbs_in(user: Person, *, program: Program) -> frozenset[Verb]:
    """All the person may do in the office of `program`; empty where they have no role there."""
    roles = memberships_of(user).filter(program=program, role__in=list(PROGRAM_ROLES))
    allowed: frozenset[Verb] = frozenset()
    for role in roles.values_list("role", flat=True):
        allowed |= _PROGRAM_VERBS[Role(role)]
    if firms_of(user, roles=(Role.DISPATCHER,)).filter(own_program=program).exists():
        allowed |= _OWN_CUSTOMERS
    return allowed


def may(user: Person, verb: Verb, *, program: Program) -> bool:
    """Whether the person may do `verb` in the office of `program`."""
    return verb in verbs_in(user, program=program)


def program_or_404(user: Person, *, code: str) -> Program:
    """The person's program of that code; Http404 where there is none they work in."""
    program = programs_of(user).filter(code=code).first()
    if program is None:
        raise Http404("No program of yours has that code.")
    return program
