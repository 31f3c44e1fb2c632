"""`backup`: copy the database of an office into a new folder, with what it must hold."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from config.backups.making import make_backup
from registry.console import Answer, OfficeCommand


class Command(OfficeCommand):
    help = "Copy the database into a new folder, while others work, with hashes and ledger heads."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path, help="a folder that does not exist yet")
        parser.add_argument(
            "--no-seal", action="store_true", help="leave the ledgers as they were last sealed"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        folder = options["folder"].absolute()
        made = make_backup(folder, now=timezone.now(), seals=not options["no_seal"])
        (file,) = made.files
        lines = [f"{file.name}: {file.bytes:,} bytes, SHA-256 {file.sha256}"]
        lines += [f"{code}: head {head or 'none yet'}" for code, head in made.heads.items()]
        lines.append("Keep the settings apart from it: without the keys no link opens.")
        payload = {"folder": str(folder), **made.to_plain()}
        return Answer(payload=payload, lines=lines)
