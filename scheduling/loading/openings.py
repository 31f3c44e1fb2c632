"""The program a load goes into: the one there is, or a new one with its rulebook in force."""

import re
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db import IntegrityError

from registry.models import Program
from registry.moments import recording_moment, today_in
from registry.source_files import LoadRefusedError
from scheduling.actions.adoption import AdoptionError, ensure_rulebooks, put_in_force
from scheduling.models import Adoption
from scheduling.queries.rulebooks import NoRulebookError, adoption_in_force
from scheduling.queries.shipped import UnknownRulebookError

DEFAULT_RULEBOOK = "plain-rolling"
DEFAULT_ZONE = "UTC"


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What the caller says of the program; None where nothing was said."""

    code: str
    rulebook: str | None = None
    zone: str | None = None
    as_of: date | None = None


def open_program(*, wanted: Wanted, now: datetime, by: str) -> tuple[Program, date]:
    """Return the program, locked, and the day the load is of; make it when there is none.

    Made with a day it is a trial; made without, it has no go-live day and nothing leaves.
    A new one takes rulebook plain-rolling, zone UTC and US date order unless told otherwise.
    Raises LoadRefusedError for an existing program of another rulebook or zone, a rulebook that
    is unknown or has gaps, a zone or a code that cannot be.
    """
    ensure_rulebooks()
    program = Program.objects.select_for_update().filter(code=wanted.code).first()
    if program is None:
        return _made(wanted=wanted, now=now, by=by)
    as_of = wanted.as_of or today_in(zone=program.zone, now=now)
    if wanted.zone and wanted.zone != program.zone:
        raise LoadRefusedError(
            f"Program {program.code} keeps the time of {program.zone}, not {wanted.zone}. "
            "Leave --zone out, or change it with program_settings."
        )
    _check_rulebook(program=program, wanted=wanted, as_of=as_of, by=by)
    return program, as_of


def _made(*, wanted: Wanted, now: datetime, by: str) -> tuple[Program, date]:
    zone = wanted.zone or DEFAULT_ZONE
    if not re.fullmatch(r"[-a-zA-Z0-9_]{1,60}", wanted.code):
        raise LoadRefusedError(
            f"{wanted.code!r} cannot be a program's code: use up to 60 letters, figures and dashes."
        )
    check_zone(zone)
    as_of = wanted.as_of or today_in(zone=zone, now=now)
    program = Program(
        code=wanted.code,
        name=wanted.code,
        zone=zone,
        is_trial=wanted.as_of is not None,
        created_at=now,
    )
    program.created_at = recording_moment(program=program, as_of=as_of, now=now)
    try:
        program.save()
    except IntegrityError as error:
        raise LoadRefusedError(
            f"Another load is making program {wanted.code} at this moment. Load again."
        ) from error
    _adopt(program=program, name=wanted.rulebook or DEFAULT_RULEBOOK, as_of=as_of, by=by)
    return program, as_of


def check_zone(zone: str) -> None:
    """Raise LoadRefusedError unless a zone is one of the IANA time zone database."""
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise LoadRefusedError(
            f"{zone!r} is no time zone: write one as America/Los_Angeles."
        ) from error


def _check_rulebook(*, program: Program, wanted: Wanted, as_of: date, by: str) -> None:
    try:
        adoption = adoption_in_force(program=program, on=as_of)
    except NoRulebookError:
        _adopt(program=program, name=wanted.rulebook or DEFAULT_RULEBOOK, as_of=as_of, by=by)
        return
    if wanted.rulebook and wanted.rulebook != adoption.rulebook.name:
        raise LoadRefusedError(
            f"Program {program.code} goes by rulebook {adoption.rulebook.name}, "
            f"not {wanted.rulebook}. Leave --rulebook out, or load into another program."
        )


def _adopt(*, program: Program, name: str, as_of: date, by: str) -> Adoption:
    try:
        return put_in_force(
            program=program, name=name, effective_on=as_of, at=program.created_at, by=by
        )
    except (AdoptionError, UnknownRulebookError) as error:
        raise LoadRefusedError(str(error)) from error
