"""`run_day`: run the day of one program, or of all."""

from __future__ import annotations

import os
from datetime import date, datetime
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from notices.actions.day import DayTally, run_day
from notices.actions.leaving import Progress
from notices.actions.preview import preview_day
from registry.console import Answer, OfficeCommand, Refused, iso_date, progress_on_stderr
from registry.models import Program
from registry.moments import today_in

ALL = "all"


class Command(OfficeCommand):
    help = "Open obligations, record owed notices, compose letters and let them leave."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, metavar="CODE|all")
        parser.add_argument("--as-of", type=iso_date, metavar="DATE")
        parser.add_argument("--out", type=Path, metavar="DIR", help="also write the PDFs there")
        parser.add_argument(
            "--preview", action="store_true", help="say what would be sent, and write nothing"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        out: Path | None = options["out"]
        if out is not None:
            _make_folder(out)
        now, as_of = timezone.now(), options["as_of"]
        if options["preview"] and (options["program"] == ALL or out is not None):
            raise Refused("A preview is of one program and draws no letters: leave --out away.")
        if options["program"] == ALL:
            return _run_all(as_of=as_of, now=now, out=out)
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"There is no program {options['program']}.")
        if options["preview"]:
            return _preview(program, as_of=as_of, now=now)
        tally = _run(program, as_of=as_of, now=now, out=out)
        return Answer(payload=tally.to_json(), lines=_lines(tally))


def _run_all(*, as_of: date | None, now: datetime, out: Path | None) -> Answer:
    """Run each program; one that is refused is told and does not stop the rest."""
    payload: list[dict[str, object]] = []
    lines: list[str] = []
    refusals = 0
    for program in Program.objects.order_by("code"):
        try:
            tally = _run(program, as_of=as_of, now=now, out=out)
        except Refused as refusal:
            refusals += 1
            payload.append(_refused(program, why=str(refusal), as_of=as_of))
            lines.append(f"{program.code}: not run. {refusal}")
        else:
            payload.append({**tally.to_json(), "error": None})
            lines += _lines(tally)
    return Answer(payload=payload, lines=lines, clean=refusals == 0)


def _run(program: Program, *, as_of: date | None, now: datetime, out: Path | None) -> DayTally:
    day = as_of or today_in(zone=program.zone, now=now)
    with progress_on_stderr(f"{program.code}, {day}") as advance:
        tell: Progress = lambda _what, done, of: advance(done, of)  # noqa: E731
        return run_day(program=program, as_of=day, now=now, out=out, progress=tell)


def _preview(program: Program, *, as_of: date | None, now: datetime) -> Answer:
    day = as_of or today_in(zone=program.zone, now=now)
    said = preview_day(program=program, as_of=day, now=now)
    would = (
        f"{said.program}, {said.as_of}: {said.would_open} obligations would open, "
        f"{said.notices} notices would go in {said.letters} letters."
    )
    rest = (
        f"Held for a person: {len(said.held)}. For another day's letters: "
        f"{said.waiting_for_quota} notices. Courtesy rungs passed over: {said.skipped}."
    )
    rungs = (f"{one.letters:>8,}  {one.rung}, {one.notices:,} notices" for one in said.rungs)
    lines = [would, *rungs, rest]
    if said.kept_in:
        lines.append(f"No letter leaves on that day. {said.kept_in}")
    if not said.is_live:
        lines.append("The program is not live on that day: in truth nothing would leave.")
    return Answer(payload=said.to_json(), lines=[*lines, "Preview: nothing was written."])


def _refused(program: Program, *, why: str, as_of: date | None) -> dict[str, object]:
    keys = DayTally(program=program.code, as_of=date.min).to_json()
    counts: dict[str, object] = dict.fromkeys(keys)
    named = {"program": program.code, "as_of": as_of.isoformat() if as_of else None}
    return {**counts, **named, "error": why}


def _lines(tally: DayTally) -> list[str]:
    did = (
        f"{tally.program}, {tally.as_of}: {tally.obligations_opened} obligations opened, "
        f"{tally.notices} notices in {tally.letters} letters, {tally.withdrawn} withdrawn, "
        f"{tally.skipped} courtesy rungs passed over."
    )
    waits = (
        f"Waiting: {tally.waiting_for_release} letters for release, "
        f"{tally.waiting_for_quota} notices for another day's letters."
    )
    return [did, waits]


def _make_folder(out: Path) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Refused(f"The folder {out} cannot be made: {error.strerror}.") from error
    if not os.access(out, os.W_OK):
        raise Refused(f"The folder {out} cannot be written to. Name another with --out.")
