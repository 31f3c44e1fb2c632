"""`read_bounces`: read a bounce from standard input, or a mailbox file of them."""

from __future__ import annotations

import mailbox
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from notices.delivery.bounce_reading import LONGEST, read_bounce
from notices.delivery.bouncing import Heard, take_bounce
from registry.console import Answer, OfficeCommand, Refused

STDIN = "-"


class Command(OfficeCommand):
    help = "Read bounces: one message from standard input (-), or a file, or an mbox. Leaves it be."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", default=STDIN, metavar="FILE|-")

    def perform(self, options: dict[str, Any]) -> Answer:
        heard: Counter[str] = Counter()
        for raw in _messages(str(options["file"])):
            bounce = read_bounce(raw)
            if bounce is None:
                heard["no bounce"] += 1
                continue
            source = raw.decode("utf-8", errors="replace")
            heard[take_bounce(bounce, source=source, at=timezone.now())] += 1
        ignored = heard["no bounce"] + heard[Heard.NOT_OURS]
        payload = {
            "read": sum(heard.values()),
            "failed": heard[Heard.FAILED],
            "delayed": heard[Heard.DELAYED],
            "known": heard[Heard.KNOWN],
            "ignored": ignored,
        }
        lines = [f"{count:>6,}  {what}" for what, count in payload.items()]
        return Answer(payload=payload, lines=lines, clean=not ignored)


def _messages(name: str) -> Iterator[bytes]:
    if name == STDIN:
        yield sys.stdin.buffer.read(LONGEST)
        return
    path = Path(name)
    try:
        with path.open("rb") as opened:
            start = opened.read(5)
            rest = b"" if start == b"From " else opened.read(LONGEST)
    except OSError as error:
        raise Refused(f"{path} cannot be read: {error.strerror}.") from error
    if start != b"From ":
        yield start + rest
        return
    box = mailbox.mbox(path, create=False)
    try:
        for key in box.keys():  # noqa: SIM118  (a mailbox is no dictionary)
            yield box.get_bytes(key)
    finally:
        box.close()
