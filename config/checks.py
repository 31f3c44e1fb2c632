"""A wrong setting is a system check with an id and a hint, never a surprise at night."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any
from urllib.parse import urlsplit

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.core.checks import Warning as Caution

from config.environment import Environment
from registry.domain.emails import read_email

LEAST_SECRET = 50


@register(Tags.security)
def check_environment(
    app_configs: Sequence[AppConfig] | None, **_kwargs: Any
) -> Iterable[CheckMessage]:
    """E001: a variable cannot be understood. E002: a variable of ours that nobody knows."""
    env: Environment = settings.ENVIRONMENT
    faults = [
        Error(f"{fault.variable} {fault.message}.", hint=fault.hint, id="waterclerk.E001")
        for fault in env.faults
    ]
    unknown = [
        Error(
            f"{name} is no setting of Waterclerk.",
            hint="Correct its spelling or remove it; docs/settings.md lists them all.",
            id="waterclerk.E002",
        )
        for name in env.unknown()
    ]
    return [*faults, *unknown]


@register(Tags.security)
def check_secrets(
    app_configs: Sequence[AppConfig] | None, **_kwargs: Any
) -> Iterable[CheckMessage]:
    """E003: in production a secret is missing, short, or used for both jobs."""
    if not settings.PRODUCTION:
        return []
    # SECRET_KEY is read from the environment: Django itself refuses to hand out an empty one.
    secrets = {
        "WATERCLERK_SECRET_KEY": settings.ENVIRONMENT.text("WATERCLERK_SECRET_KEY"),
        "WATERCLERK_LINK_KEY": settings.LINK_KEY,
    }
    found = [
        Error(
            f"{name} is missing or shorter than {LEAST_SECRET} characters.",
            hint='Make one: python -c "import secrets; print(secrets.token_urlsafe(48))"',
            id="waterclerk.E003",
        )
        for name, value in secrets.items()
        if len(value) < LEAST_SECRET
    ]
    if len(set(secrets.values())) < len(secrets) and not found:
        found.append(
            Error(
                "WATERCLERK_SECRET_KEY and WATERCLERK_LINK_KEY are the same.",
                hint="Give each its own: one may have to change without the other.",
                id="waterclerk.E003",
            )
        )
    return found


@register(Tags.security)
def check_base_url(
    app_configs: Sequence[AppConfig] | None, **_kwargs: Any
) -> Iterable[CheckMessage]:
    """E004: the address printed in letters is no address. E005: not encrypted in production."""
    parts = urlsplit(settings.BASE_URL)
    if parts.scheme not in {"http", "https"} or not parts.hostname or parts.query:
        return [
            Error(
                f"WATERCLERK_BASE_URL is {settings.BASE_URL!r}, which is no web address.",
                hint="Write it as https://HOST, without a path or query.",
                id="waterclerk.E004",
            )
        ]
    if settings.PRODUCTION and parts.scheme != "https":
        return [
            Error(
                "WATERCLERK_BASE_URL is not https.",
                hint="Letters would print links that others on the way can read.",
                id="waterclerk.E005",
            )
        ]
    return []


@register(Tags.security)
def check_queue(app_configs: Sequence[AppConfig] | None, **_kwargs: Any) -> Iterable[CheckMessage]:
    """E006: a task could be started again while it still runs."""
    if settings.Q_CLUSTER["retry"] > settings.Q_CLUSTER["timeout"]:
        return []
    return [
        Error(
            "WATERCLERK_TASK_RETRY is not longer than WATERCLERK_TASK_TIMEOUT.",
            hint="A task that still runs would be started a second time; raise the retry.",
            id="waterclerk.E006",
        )
    ]


@register(Tags.security)
def check_mail(app_configs: Sequence[AppConfig] | None, **_kwargs: Any) -> Iterable[CheckMessage]:
    """W007: in production no mail server is named."""
    if not settings.PRODUCTION or settings.EMAIL_HOST:
        return []
    return [
        Caution(
            "No mail server is set: nothing is sent by e-mail.",
            hint="Set WATERCLERK_SMTP_HOST and its companions.",
            id="waterclerk.W007",
        )
    ]


@register(Tags.security)
def check_mail_addresses(
    app_configs: Sequence[AppConfig] | None, **_kwargs: Any
) -> Iterable[CheckMessage]:
    """E008: sender or bounce address is none. W009: a mail server, but nobody named as sender."""
    named = {"WATERCLERK_MAIL_FROM": settings.MAIL_FROM_ADDRESS}
    if settings.BOUNCE_ADDRESS:
        named["WATERCLERK_BOUNCE_ADDRESS"] = settings.BOUNCE_ADDRESS
    faults: list[CheckMessage] = [
        Error(
            f"{name} is no e-mail address.",
            hint="Write it as office@example.org; the sender also as NAME <office@example.org>.",
            id="waterclerk.E008",
        )
        for name, address in named.items()
        if read_email(address).value != address.rpartition("@")[0] + "@" + _domain(address)
    ]
    if settings.MAIL_IS_SET_UP and settings.MAIL_FROM_ADDRESS.endswith(".invalid"):
        faults.append(
            Caution(
                "A mail server is set, but WATERCLERK_MAIL_FROM is not.",
                hint="Name the office's own address: most servers refuse any other.",
                id="waterclerk.W009",
            )
        )
    return faults


def _domain(address: str) -> str:
    return address.rpartition("@")[2].lower()
