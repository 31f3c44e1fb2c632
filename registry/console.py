"""What every command promises its caller: exit codes 0, 1, 2, clean JSON, words on stderr.

Exit 0: done. 1: done, but something was set aside. 2: nothing was done, and one
sentence says why. With `--json` standard output holds the JSON and nothing else.
"""

from __future__ import annotations

import json
import os
import sys
from argparse import ArgumentTypeError
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from io import TextIOWrapper
from typing import Any

from django.core.management.base import (
    BaseCommand,
    CommandError,
    CommandParser,
    SystemCheckError,
)
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections
from django.db.migrations.executor import MigrationExecutor
from rich.console import Console
from rich.progress import Progress

DONE, SET_ASIDE, REFUSED = 0, 1, 2
EARLIEST_YEAR, LATEST_YEAR = 1900, 2200

Advance = Callable[[int, int], None]
"""Told after each step: how many are done, of how many."""


class Refused(Exception):  # noqa: N818  (the word callers and pages use)
    """Nothing was done; the message is one sentence that says why and what to do."""


@dataclass(frozen=True)
class Answer:
    """What a command has to say: `payload` for programs, `lines` for people.

    `clean` is False when rows were set aside, refused, rejected or ignored.
    """

    payload: Any
    lines: Sequence[str] = ()
    clean: bool = True


class OfficeCommand(BaseCommand):
    """A command that keeps the promise; a subclass writes `arguments` and `perform`.

    `perform` parses nothing but its options, calls one action and returns an
    Answer; it raises Refused to do nothing. `offers_json` adds `--json`.
    """

    offers_json = True

    def arguments(self, parser: CommandParser) -> None:
        """Add the arguments of this command."""

    def perform(self, options: dict[str, Any]) -> Answer:
        """Do it, and return what to say; raise Refused when nothing can be done."""
        raise NotImplementedError

    def add_arguments(self, parser: CommandParser) -> None:
        """Add `--json` and what the command itself takes."""
        if self.offers_json:
            parser.add_argument("--json", action="store_true", help="answer in JSON")
        self.arguments(parser)

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        """Return a parser that raises on wrong arguments, so that JSON can say it too."""
        called = getattr(self, "_called_from_command_line", False)
        self._called_from_command_line = False
        try:
            return super().create_parser(prog_name, subcommand, **kwargs)
        finally:
            self._called_from_command_line = called

    def run_from_argv(self, argv: list[str]) -> None:
        """Run from the command line; wrong arguments are a refusal."""
        try:
            super().run_from_argv(argv)
        except CommandError as error:
            self._refuse(str(error).removeprefix("Error: "), as_json="--json" in argv)

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Run with checked settings; wrong settings are a refusal."""
        try:
            return super().execute(*args, **options)
        except SystemCheckError as error:
            self._refuse(str(error), as_json=bool(options.get("json")))
        return None

    def handle(self, *args: Any, **options: Any) -> None:
        """Answer, and end the process with the promised code."""
        as_json = bool(options.get("json"))
        _speak_utf8()
        try:
            answer = self.perform(options)
        except Refused as refusal:
            self._refuse(str(refusal), as_json=as_json)
            return
        except DatabaseError as error:
            if not _has_unapplied_migrations():
                raise
            self._refuse(f"The database is not up to date ({error}): run migrate.", as_json=as_json)
            return
        self._say(answer, as_json=as_json)
        if not answer.clean:
            sys.exit(SET_ASIDE)

    def _say(self, answer: Answer, *, as_json: bool) -> None:
        lines = [json.dumps(answer.payload, default=_plain)] if as_json else answer.lines
        try:
            for line in lines:
                self.stdout.write(line)
            self.stdout.flush()
        except BrokenPipeError:
            # The reader has what it wanted (`| head`); the work itself is done.
            _send_the_rest_nowhere()

    def _refuse(self, why: str, *, as_json: bool) -> None:
        self.stderr.write(why)
        if as_json:
            self.stdout.write(json.dumps({"error": why}))
        sys.exit(REFUSED)


def iso_date(text: str) -> date:
    """Return the date written YYYY-MM-DD and in no other way, as `type=` of an argument.

    `date.fromisoformat` alone would also take 20250101 and 2025-W01-1.
    A day outside 1900 to 2200 is a slip of the pen and refused too.
    Raises ArgumentTypeError with a sentence for the caller.
    """
    try:
        found = date.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.isoformat() != text:
        raise ArgumentTypeError(f"{text!r} is no date: write it as 2026-11-25.")
    if not EARLIEST_YEAR <= found.year <= LATEST_YEAR:
        raise ArgumentTypeError(f"{text} lies outside 1900 to 2200: correct the year.")
    return found


@contextmanager
def progress_on_stderr(label: str) -> Iterator[Advance]:
    """Show a bar on standard error while something long runs; yields what to call per step.

    Only a terminal gets it: a log would fill with blank lines.
    """
    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bars:
        task = bars.add_task(label, total=None)

        def advance(done: int, of: int) -> None:
            bars.update(task, completed=done, total=of)

        yield advance


def tally_lines(pairs: Iterable[tuple[str, int]]) -> list[str]:
    """Return counts as lines for people, the figures under each other."""
    return [f"{count:>8,}  {name}" for name, count in pairs]


def _plain(value: object) -> str:
    """Write dates in ISO and decimals as strings, as the commands promise."""
    return value.isoformat() if isinstance(value, date) else str(value)


def _speak_utf8() -> None:
    """Files and pipes get UTF-8 whatever the locale says: names hold letters of every kind."""
    if isinstance(sys.stdout, TextIOWrapper) and not sys.stdout.isatty():
        sys.stdout.reconfigure(encoding="utf-8")


def _send_the_rest_nowhere() -> None:
    """Let the interpreter's last flush succeed after the reader has gone."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def _has_unapplied_migrations() -> bool:
    try:
        executor = MigrationExecutor(connections[DEFAULT_DB_ALIAS])
        return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
    except DatabaseError:
        return False
