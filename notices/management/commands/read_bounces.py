"""`read_bounces`: read a bounce from standard input, a mailbox file, or a Maildir folder."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from notices.delivery.bounce_box import NO_BOUNCE, messages_in, take_messages
from notices.delivery.bounce_reading import LONGEST
from notices.delivery.bouncing import Heard
from registry.console import Answer, OfficeCommand

STDIN = "-"


class Command(OfficeCommand):
    help = "Read bounces: one message (-: standard input), an mbox, or a Maildir. Leaves it be."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", default=STDIN, metavar="FILE|FOLDER|-")

    def perform(self, options: dict[str, Any]) -> Answer:
        name = str(options["file"])
        given = [sys.stdin.buffer.read(LONGEST)] if name == STDIN else messages_in(Path(name))
        heard = take_messages(given, at=timezone.now())
        ignored = heard[NO_BOUNCE] + heard[Heard.NOT_OURS]
        payload = {
            "read": sum(heard.values()),
            "failed": heard[Heard.FAILED],
            "delayed": heard[Heard.DELAYED],
            "known": heard[Heard.KNOWN],
            "ignored": ignored,
        }
        lines = [f"{count:>6,}  {what}" for what, count in payload.items()]
        return Answer(payload=payload, lines=lines, clean=not ignored)
