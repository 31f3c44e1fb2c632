"""One line of what needs a person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class Need:
    """One line of what needs a person: `page` names an address, `query` what to show there.

    `about` and `about_at` name whom the example is about, and the address of its page with the
    arguments after the program's code; empty where it is about nobody alone.
    """

    count: int
    what: str
    detail: str
    since: date | None
    act: str
    page: str
    query: str = ""
    about: str = ""
    about_at: tuple[str, int] | None = None
