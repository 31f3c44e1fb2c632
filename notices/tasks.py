"""What the queue calls: it reads the clock, wakes, and carries no data of its own."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from notices.actions.waking import wake_programs
from notices.delivery.bounce_box import messages_in, take_messages
from notices.delivery.bouncing import Heard
from notices.delivery.making import why_no_mail
from notices.delivery.outbox import send_waiting, waiting_mail
from notices.delivery.smtp import MailServer
from registry.models import Program

logger = logging.getLogger(__name__)

AFTER_WAKE: list[Callable[[], str]] = []
"""What floors above do after each wake-up; they add it when they start. Safe to repeat."""


def wake() -> str:
    """Wake every live program whose day has begun, read bounces, send what waits; say so."""
    woken = wake_programs(clock=timezone.now)
    ran = [one.program for one in woken if one.day and not one.problem]
    stopped = [f"{one.program}: {one.problem}" for one in woken if one.problem]
    done = [read_box(), send_all(), *(act() for act in AFTER_WAKE)]
    return "; ".join(
        [
            f"ran {', '.join(ran) or 'none'}",
            *([f"stopped {'; '.join(stopped)}"] if stopped else []),
            *filter(None, done),
        ]
    )


def read_box() -> str:
    """Read the mailbox that bounces come to, where one is set; a fault of it stops nothing else."""
    if not settings.BOUNCE_MAILBOX:
        return ""
    try:
        heard = take_messages(messages_in(Path(settings.BOUNCE_MAILBOX)), at=timezone.now())
    except Exception as error:  # a mailbox that cannot be read must not keep letters in
        logger.exception("The mailbox of bounces was not read.")
        return f"bounces not read: {type(error).__name__}"
    new = heard[Heard.FAILED] + heard[Heard.DELAYED]
    return f"bounces: {new}" if new else ""


def send_all() -> str:
    """Send the e-mail that waits in every live program; one program's fault stops no other."""
    if why_no_mail():
        return ""
    told: list[str] = []
    for program in Program.objects.filter(is_trial=False).order_by("code"):
        if not waiting_mail(program).exists():
            continue
        try:
            with MailServer() as server:
                sent = send_waiting(program=program, clock=timezone.now, server=server)
        except Exception as error:  # one program's fault must not stop the others
            logger.exception("The e-mail of %s stopped.", program.code)
            told.append(f"{program.code}: {type(error).__name__}")
            continue
        told.append(f"{program.code} mailed {sent.taken}")
        if sent.fault:
            logger.error("%s: no e-mail goes out: %s", program.code, sent.fault)
    return ", ".join(told)
