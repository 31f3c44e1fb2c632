"""`read_bounces`: read a bounce from standard input, a mailbox file, or a Maildir folder."""

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
    help = "Read bounces: one message (-: standard input), an mbox, or a Maildir. Leaves it be."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", default=STDIN, metavar="FILE|FOLDER|-")

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
    if path.is_dir():
        yield from _in_folder(path)
        return
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


def _in_folder(path: Path) -> Iterator[bytes]:
    """The messages of a Maildir, new and seen. None is moved: the next time it is known."""
    kinds = [path / name for name in ("new", "cur")]
    if not all(kind.is_dir() for kind in kinds):
        raise Refused(f"{path} is no mailbox: a Maildir has the folders new and cur.")
    for file in sorted(file for kind in kinds for file in kind.iterdir() if file.is_file()):
        try:
            with file.open("rb") as opened:
                raw = opened.read(LONGEST)
        except FileNotFoundError:
            continue  # moved to `cur` meanwhile: the next reading finds it there
        except OSError as error:
            raise Refused(f"{file} cannot be read: {error.strerror}.") from error
        yield raw
