"""`restore_backup`: bring a backup into a new database, and check what came."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from config.backups.manifest import verified
from config.backups.restoring import restore_backup
from registry.console import Answer, OfficeCommand


class Command(OfficeCommand):
    help = "Check a backup; with --into, bring it into a new, empty database and check it there."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path)
        parser.add_argument(
            "--into", default="", metavar="DATABASE_URL", help="an empty database, or a new file"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        folder, into = options["folder"].absolute(), options["into"]
        if not into:
            manifest = verified(folder)
            payload = {"made_at": manifest.made_at, "restored": False, "differences": []}
            return Answer(payload=payload, lines=["Every file is as it was backed up."])
        done = restore_backup(folder, into=into)
        found = list(done.differences)
        payload = {"made_at": done.manifest.made_at, "restored": True, "differences": found}
        holds = ["Restored; rows, ledgers, due dates and verdicts are as the backup says."]
        return Answer(payload=payload, lines=found or holds, clean=not found)
