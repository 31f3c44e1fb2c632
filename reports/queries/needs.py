"""One line of what needs a person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class Need:
    """One line of what needs a person: `page` names an address, `query` what to show there."""

    count: int
    what: str
    detail: str
    since: date | None
    act: str
    page: str
    query: str = ""
