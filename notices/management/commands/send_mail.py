"""`send_mail`: send the e-mail that waits, of one program or of all."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from notices.delivery.making import why_no_mail
from notices.delivery.outbox import Sent, send_waiting
from notices.delivery.smtp import MailServer
from registry.console import Answer, OfficeCommand, Refused
from registry.models import Program

ALL = "all"


class Command(OfficeCommand):
    help = "Send the e-mail that waits. The office's clock does so by itself; a second run is safe."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", default=ALL, metavar="CODE|all")

    def perform(self, options: dict[str, Any]) -> Answer:
        if why := why_no_mail():
            raise Refused(f"{why} docs/settings.md says how.")
        programs = Program.objects.filter(is_trial=False).order_by("code")
        if options["program"] != ALL:
            programs = Program.objects.filter(code=options["program"])
            if not programs:
                raise Refused(f"There is no program {options['program']}.")
        with MailServer() as server:
            sent = [send_waiting(program=p, clock=timezone.now, server=server) for p in programs]
        payload = [_plain(one) for one in sent]
        return Answer(
            payload=payload if options["program"] == ALL else payload[0],
            lines=[_line(one) for one in sent],
            clean=not any(one.fault or one.held for one in sent),
        )


def _plain(one: Sent) -> dict[str, Any]:
    return {key: value for key, value in asdict(one).items() if key != "letters"}


def _line(one: Sent) -> str:
    if one.kept_in:
        return f"{one.program}: nothing was sent: {one.kept_in}"
    said = (
        f"{one.program}: {one.taken} taken by the mail server, {one.later} to be tried again, "
        f"{one.paper} go on paper, {one.held} wait for a person, {one.withdrawn} withdrawn."
    )
    return f"{said} Stopped: {one.fault}" if one.fault else said
