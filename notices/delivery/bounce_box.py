"""The mailbox that bounces come to: read whole each time, and left as it is."""

from __future__ import annotations

import mailbox
from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

from notices.delivery.bounce_reading import LONGEST, read_bounce
from notices.delivery.bouncing import take_bounce
from registry.console import Refused

NO_BOUNCE = "no bounce"


def take_messages(messages: Iterable[bytes], *, at: datetime) -> Counter[str]:
    """Take each bounce among messages; return how many were heard as what."""
    heard: Counter[str] = Counter()
    for raw in messages:
        bounce = read_bounce(raw)
        if bounce is None:
            heard[NO_BOUNCE] += 1
            continue
        heard[take_bounce(bounce, source=raw.decode("utf-8", errors="replace"), at=at)] += 1
    return heard


def messages_in(path: Path) -> Iterator[bytes]:
    """Yield the messages of a file with one, an mbox, or a Maildir; Refused where it is none."""
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
