"""What a refreshed customer file may propose, and how a proposal ends."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class ProposalKind(StrEnum):
    """A difference between a customer file and the registry; the gravest come first."""

    NEW_OWNER = "new owner"
    CLOSED_ACCOUNT = "closed account"
    REOPENED_ACCOUNT = "reopened account"
    MOVED_PREMISES = "moved premises"
    CHANGED_ACCOUNT = "changed account"
    CHANGED_ADDRESS = "changed address"
    CHANGED_CONTACT = "changed contact"
    CHANGED_USE = "changed use"


class SettledHow(StrEnum):
    """How a proposal ended; blank while it waits."""

    ACCEPTED = "accepted"
    REFUSED = "refused"
    OVERTAKEN = "overtaken"


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One thing a file says otherwise than the registry.

    `subject` is `premises:<id>` or `party:<id>`; `before` and `after` hold the same fields.
    """

    kind: ProposalKind
    subject: str
    premises_id: int
    before: Mapping[str, str]
    after: Mapping[str, str]
    row: int | None = None
    note: str = ""

    @property
    def digest(self) -> str:
        """What makes it the same proposal again: kind, subject, and both sides."""
        said = [self.kind.value, self.subject, dict(self.before), dict(self.after)]
        return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()
