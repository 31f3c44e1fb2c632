"""What a bounce says of one letter: whether it failed for good, and why, in the server's words."""

from __future__ import annotations

import re
from dataclasses import dataclass

_STATUS = re.compile(r"\b([245])\.(\d{1,3})\.(\d{1,3})\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounce:
    """One report about one e-mail. `tokens` tell the letter, most certain first.

    `is_final`: it will not be delivered. `status`: the enhanced code of RFC 3463, or empty.
    """

    tokens: tuple[str, ...]
    is_final: bool
    status: str = ""
    words: str = ""

    @property
    def is_bad_address(self) -> bool:
        """Whether the address itself is at fault, so that nothing more should go there.

        RFC 3463: 5.1.x is a bad address, 5.2.1 a mailbox that takes nothing. A full mailbox
        (5.2.2), a message too large, or a policy (5.7.x) is about this message or this day.
        """
        return self.is_final and is_bad_address(self.status)


def is_bad_address(status: str) -> bool:
    """Whether an enhanced code of RFC 3463 blames the address itself."""
    return status.startswith("5.1.") or status == "5.2.1"


def status_in(words: str) -> str:
    """Return the enhanced status code in a server's words, or nothing.

    Example: "550 5.1.1 no such user" gives "5.1.1".
    """
    found = _STATUS.search(words)
    return ".".join(found.groups()) if found else ""
