"""The fire department of a program, as its office recorded it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from notices.domain.addresses import MailingAddress
from notices.queries.responsible import Recipient
from registry.models import Program

KEY = "fire_department"
"""Under this key of a program's contacts: name, address, city, state, zip, phone."""


def fire_department(program: Program) -> Recipient | None:
    """Return the fire department as a recipient, or None while no address is recorded."""
    told: Mapping[str, Any] = (program.contacts or {}).get(KEY) or {}
    if not str(told.get("address") or "").strip():
        return None
    return Recipient(
        key=f"fire:{program.pk}",
        party=None,
        mailing=MailingAddress(
            name=str(told.get("name") or "Fire department"),
            street=str(told.get("address") or ""),
            city=str(told.get("city") or ""),
            state=str(told.get("state") or ""),
            zip=str(told.get("zip") or ""),
        ),
        language="en",
    )
