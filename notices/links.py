"""The addresses printed in letters: a secret link for the QR, a page for the short code."""

from __future__ import annotations

from urllib.parse import urlsplit

from django.conf import settings

from notices.domain import codes


def letter_name(*, program_code: str, number: str) -> str:
    """Return what names a letter beyond its own program."""
    return f"{program_code}/{number}"


def token_of(*, program_code: str, number: str) -> str:
    """Return the token of a letter's link; it is worked out anew, never stored."""
    name = letter_name(program_code=program_code, number=number)
    return codes.link_token(key=settings.LINK_KEY, letter=name)


def short_code_of(*, program_code: str, number: str, attempt: int = 0) -> str:
    """Return the code a person types; `attempt` steps past one that is taken."""
    name = letter_name(program_code=program_code, number=number)
    return codes.short_code(key=settings.LINK_KEY, letter=name, attempt=attempt)


def message_id_of(*, program_code: str, number: str) -> str:
    """Return the Message-ID under which a letter goes by e-mail, however often it is tried.

    Its left part says nothing of the link: it is a digest of the letter's name and the key.
    """
    name = letter_name(program_code=program_code, number=number)
    domain = settings.MAIL_FROM_ADDRESS.rpartition("@")[2]
    return f"<{codes.mail_token(key=settings.LINK_KEY, letter=name)}@{domain}>"


def owner_link(token: str) -> str:
    """Return the address in the QR."""
    return f"{settings.BASE_URL}/o/{token}"


def shown_address() -> str:
    """Return the address a person types, without its scheme: `wc.example/o`."""
    parts = urlsplit(settings.BASE_URL)
    return f"{parts.netloc}{parts.path.rstrip('/')}/o"
