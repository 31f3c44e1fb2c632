"""`verify_evidence`: check an evidence file by itself, without a database."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from registry.console import Answer, OfficeCommand, Refused
from reports.evidence.checking import NoEvidenceError, checked

LONGEST = 500_000_000


class Command(OfficeCommand):
    help = "Check an evidence file: every byte, and each letter in it. Needs no database."
    requires_migrations_checks = False

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")

    def perform(self, options: dict[str, Any]) -> Answer:
        path: Path = options["file"]
        try:
            if path.stat().st_size > LONGEST:
                raise Refused(f"{path} is larger than an evidence file can be.")
            found = checked(path.read_bytes())
        except OSError as error:
            raise Refused(f"{path} cannot be read: {error.strerror}.") from error
        except NoEvidenceError as error:
            raise Refused(f"{path}: {error}") from error
        payload = {
            "about": found.about,
            "made_at": found.made_at,
            "letters": found.letters,
            "head": found.head or None,
            "faults": found.faults,
        }
        many = "1 letter" if found.letters == 1 else f"{found.letters} letters"
        good = f"Nothing was changed: {many}, {found.about}, {found.made_at}."
        return Answer(payload=payload, lines=found.faults or [good], clean=not found.faults)
