"""Who may work where: a person's roles in programs, testing companies and for owners."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from registry.domain.kinds import Role
from registry.models.choices import choices_of
from registry.models.firms import Firm, Tester
from registry.models.premises import Party
from registry.models.programs import Program


class Membership(models.Model):
    """One role of one person, in a program, in a firm, or for the premises of one party."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships"
    )
    role = models.CharField(max_length=20, choices=choices_of(Role))
    program = models.ForeignKey(
        Program, null=True, blank=True, on_delete=models.CASCADE, related_name="memberships"
    )
    firm = models.ForeignKey(
        Firm, null=True, blank=True, on_delete=models.CASCADE, related_name="memberships"
    )
    tester = models.ForeignKey(
        Tester, null=True, blank=True, on_delete=models.SET_NULL, related_name="memberships"
    )
    party = models.ForeignKey(
        Party, null=True, blank=True, on_delete=models.CASCADE, related_name="memberships"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("user", "role", "program"),
                condition=models.Q(program__isnull=False, party__isnull=True),
                name="office_role_once",
            ),
            models.UniqueConstraint(
                fields=("user", "role", "firm"),
                condition=models.Q(firm__isnull=False),
                name="firm_role_once",
            ),
            models.UniqueConstraint(
                fields=("user", "role", "party"),
                condition=models.Q(party__isnull=False),
                name="party_role_once",
            ),
            models.CheckConstraint(
                condition=(
                    models.Q(
                        role__in=(Role.ADMINISTRATOR.value, Role.CLERK.value, Role.AUDITOR.value),
                        program__isnull=False,
                        firm__isnull=True,
                        party__isnull=True,
                    )
                    | models.Q(
                        role__in=(Role.DISPATCHER.value, Role.TESTER.value),
                        program__isnull=True,
                        firm__isnull=False,
                        party__isnull=True,
                    )
                    | models.Q(
                        role=Role.PROPERTY_MANAGER.value,
                        program__isnull=False,
                        firm__isnull=True,
                        party__isnull=False,
                    )
                ),
                name="membership_fits_role",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user}, {self.role}"
