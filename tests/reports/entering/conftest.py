"""An office with a tester who is accepted and assigned, one who is only accepted, and clients."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry.domain.identity import firm_key
from registry.domain.kinds import Role
from registry.models import Approval, Certification, Firm, Membership, Tester
from scheduling.models import ProgramClock
from tests.access.cast import TODAY, Cast, made_cast

BACKEND = "django.contrib.auth.backends.ModelBackend"
GOOD: dict[str, str] = {
    "cautions_read": "yes",
    "premises": "Weir Lane Dental",
    "serial": "A100",
    "maker": "Northfork",
    "tested_on": TODAY.isoformat(),
    "tested_at": "10:40",
    "tester_name": "T. Vell",
    "certificate": "T-1",
    "gauge_serial": "G-118",
    "unit": "psid",
    "line_pressure": "62",
    "shutoff1_tight": "yes",
    "shutoff2_tight": "yes",
    "relief_running": "no",
    "initial_relief": "2.4",
    "initial_check2_tight": "yes",
    "initial_check1": "7.4",
    "supply_on": "yes",
    "attested": "yes",
    "signed_name": "Tove Vell",
}


@pytest.fixture
def cast(db: None) -> Cast:
    """Two offices; the tester of the first is linked to the tester on record."""
    made = made_cast()
    tester = Tester.objects.get(pk=made.home.ids["tester"])
    Membership.objects.filter(firm=made.home.firm, role=Role.TESTER).update(tester=tester)
    return made


def client_for(cast: Cast, who: str) -> Client:
    """A client logged in as somebody of the cast."""
    client = Client()
    client.force_login(cast.people[who], backend=BACKEND)  # type: ignore[arg-type]
    return client


@pytest.fixture
def tester(cast: Cast) -> Client:
    return client_for(cast, "tester")


@pytest.fixture
def clerk(cast: Cast) -> Client:
    return client_for(cast, "clerk")


@pytest.fixture
def unassigned(cast: Cast) -> Client:
    """A tester whose company the program accepts, and nobody assigned."""
    firm = Firm.objects.create(name="Owl Testing", key=firm_key("Owl Testing"))
    person = Tester.objects.create(firm=firm, certificate="T-9", name="O. Reed")
    terms = {"valid_from": TODAY.replace(year=2025), "valid_to": TODAY.replace(year=2027)}
    Certification.objects.create(tester=person, program=cast.home.program, **terms)
    for what in ({}, {"tester": person}):
        Approval.objects.create(
            program=cast.home.program, firm=firm, valid_from=terms["valid_from"], **what
        )
    user = get_user_model().objects.create_user("reed", password=None)
    Membership.objects.create(user=user, role=Role.TESTER, firm=firm, tester=person)
    client = Client()
    client.force_login(user, backend=BACKEND)
    return client


def record(**said: Any) -> dict[str, Any]:
    """A record as a device sends it; what is said replaces fields, or whole keys."""
    keys = {"id", "form", "assembly", "type", "photos", "signature", "attestation"}
    fields = {**GOOD, **{name: value for name, value in said.items() if name not in keys}}
    return {
        "id": str(uuid4()),
        "form": "1",
        "assembly": None,
        "type": "RP",
        "fields": fields,
        "attestation": "I tested it myself.",
        "photos": [],
        **{name: value for name, value in said.items() if name in keys},
    }


Send = Callable[[Client, object], Any]


@pytest.fixture
def send(cast: Cast) -> Send:
    """Send a record as a device does."""

    def run(client: Client, body: object) -> Any:
        text = body if isinstance(body, str) else json.dumps(body)
        return client.post(
            f"/p/{cast.home.program.code}/enter/send/", text, content_type="application/json"
        )

    return run


def lives_today(cast: Cast) -> None:
    """The trial lives on the day of the cast."""
    ProgramClock.objects.filter(program=cast.home.program).update(last_run_on=TODAY)
