"""Makes the demo's logins, one for each role, and gives them what their role is about."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Count

from config.demo.district import LOGINS, PASSWORD, TESTER_CERTIFICATE, TESTING_COMPANY, Login
from registry.domain.kinds import PartyRole, Role
from registry.models import Firm, Membership, Party, Program, Tester


@transaction.atomic
def make_logins(*, program: Program) -> list[Login]:
    """Make the logins that do not exist yet; a password changed since is left alone."""
    for login in LOGINS:
        user, is_new = User.objects.get_or_create(
            username=login.username,
            defaults={"first_name": login.first_name, "last_name": login.last_name},
        )
        if is_new:
            user.set_password(PASSWORD)
            user.save(update_fields=["password"])
        _give_role(user=user, role=login.role, program=program)
    return list(LOGINS)


def _give_role(*, user: User, role: Role, program: Program) -> None:
    if role in {Role.DISPATCHER, Role.TESTER}:
        firm = Firm.objects.get(name=TESTING_COMPANY)
        tester = None
        if role is Role.TESTER:
            tester = Tester.objects.get(firm=firm, certificate=TESTER_CERTIFICATE)
        Membership.objects.get_or_create(
            user=user, role=role, firm=firm, defaults={"tester": tester}
        )
        return
    if role is Role.PROPERTY_MANAGER:
        if not user.memberships.filter(role=role).exists():
            party = _owner_of_most(program)
            Membership.objects.create(user=user, role=role, program=program, party=party)
        return
    Membership.objects.get_or_create(user=user, role=role, program=program)


def _owner_of_most(program: Program) -> Party:
    """The owner with the most premises: somebody who would want one view over them all."""
    owners = Party.objects.filter(program=program, roles__role=PartyRole.OWNER)
    return owners.alias(many=Count("premises", distinct=True)).order_by("-many", "pk")[0]
