"""An office with enough in it that every page has something to show."""

from __future__ import annotations

from django.contrib.auth import get_user_model

from registry.domain.kinds import Role
from registry.models import Membership
from tests.access.cast import Office, made_cast

NAME, PASSWORD = "ida", "seven words for a trial"


def made_office() -> Office:
    """One office with one of everything, and an administrator who can log in."""
    office = made_cast().home
    person = get_user_model().objects.create_user(
        NAME, password=PASSWORD, first_name="Ida", last_name="Marrow"
    )
    Membership.objects.create(user=person, role=Role.ADMINISTRATOR, program=office.program)
    return office
