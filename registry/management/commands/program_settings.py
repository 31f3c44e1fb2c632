"""program_settings: shows how a program is set up, and sets it."""

import sys
from argparse import ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import CommandParser
from django.db import transaction
from django.utils import timezone

from registry.actions.own_customers import keep_own_customers, make_dispatcher
from registry.actions.program_settings import (
    Administrator,
    SettingError,
    change_settings,
    make_administrator,
    settings_of,
)
from registry.changes import Hand
from registry.console import Answer, OfficeCommand, Refused, iso_date
from registry.domain.kinds import DateOrder
from registry.models import Program

BY = "program_settings"
NONE = "none"
_FIELDS = ("name", "zone", "state", "date_order", "go_live_on", "letters_a_day")
_LETTERHEAD = {
    "letterhead_name": "name",
    "letterhead_line": "lines",
    "phone": "phone",
    "email": "email",
    "web": "web",
    "hours": "hours",
}


class Command(OfficeCommand):
    help = "Show a program's settings; with further arguments, set them."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--name", help="the program's name")
        parser.add_argument("--zone", help="as America/Los_Angeles")
        parser.add_argument("--state", help="two letters")
        parser.add_argument("--date-order", choices=[order.value for order in DateOrder])
        parser.add_argument("--letterhead-name", help="the office, as letters name it")
        parser.add_argument("--letterhead-line", action="append", help="repeat for each line")
        for contact in ("phone", "email", "web", "hours"):
            parser.add_argument(f"--{contact}", help="in the letterhead")
        parser.add_argument(
            "--go-live", dest="go_live_on", type=_day_or_none, help="a date, or none"
        )
        parser.add_argument("--letters-a-day", type=_count_or_none, help="a number, or none")
        mode = parser.add_mutually_exclusive_group()
        mode.add_argument("--trial", dest="is_trial", action="store_true", default=None)
        mode.add_argument("--live", dest="is_trial", action="store_false", default=None)
        parser.add_argument(
            "--own-customers", metavar="FIRM", help="the program of this testing company's own"
        )
        parser.add_argument("--dispatcher", help="the login to make that company's dispatcher")
        parser.add_argument("--administrator", help="the login to make administrator")
        parser.add_argument(
            "--password-stdin", action="store_true", help="read a new login's password"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        hand = Hand(by=BY, at=timezone.now())
        try:
            with transaction.atomic():
                program = _program(options, hand=hand)
                change_settings(
                    program=program,
                    fields=_fields(options),
                    letterhead=_letterhead(options),
                    hand=hand,
                )
                made = _login(program=program, options=options, hand=hand)
        except SettingError as error:
            raise Refused(error.message) from error
        payload = {**settings_of(program), "password": made.password if made else None}
        return Answer(payload=payload, lines=_lines(payload=payload, made=made))


def _fields(options: dict[str, Any]) -> dict[str, Any]:
    given = {name: options[name] for name in _FIELDS if options[name] is not None}
    if options["is_trial"] is not None:
        given["is_trial"] = options["is_trial"]
    return {name: None if value == NONE else value for name, value in given.items()}


def _letterhead(options: dict[str, Any]) -> dict[str, Any]:
    return {
        part: options[option] for option, part in _LETTERHEAD.items() if options[option] is not None
    }


def _program(options: dict[str, Any], *, hand: Hand) -> Program:
    """The program as asked for; only a testing company's own is made here."""
    if options["own_customers"]:
        return keep_own_customers(
            code=options["program"], firm_name=options["own_customers"], hand=hand, now=hand.at
        )
    program = Program.objects.filter(code=options["program"]).first()
    if program is None:
        raise Refused(f"There is no program {options['program']!r}; load its registry first.")
    return program


def _login(*, program: Program, options: dict[str, Any], hand: Hand) -> Administrator | None:
    if not options["administrator"] and not options["dispatcher"]:
        return None
    if options["administrator"] and options["dispatcher"]:
        raise Refused("Name an administrator or a dispatcher, one at a time.")
    password = sys.stdin.readline().rstrip("\r\n") if options["password_stdin"] else None
    make = make_administrator if options["administrator"] else make_dispatcher
    username = options["administrator"] or options["dispatcher"]
    return make(program=program, username=username, password=password, hand=hand)


def _lines(*, payload: dict[str, Any], made: Administrator | None) -> list[str]:
    head = payload["letterhead"]
    shown = {
        "Program": f"{payload['program']}, {payload['name']}",
        "Time zone": payload["zone"],
        "State": payload["state"] or "not set",
        "Dates in figures": payload["date_order"],
        "Letters": _letters(payload),
        "Letters a day": payload["letters_a_day"] or "no limit",
        "Letterhead": ", ".join(part for part in (head["name"], *head["lines"]) if part) or "none",
        "Contacts": ", ".join(
            part for part in (head["phone"], head["email"], head["web"], head["hours"]) if part
        )
        or "none",
        "Holds": f"the customers of {payload['firm']}" if payload["firm"] else payload["kind"],
        "Administrators": ", ".join(payload["administrators"]) or "none; name one",
    }
    lines = [f"{name + ':':<18}{value}" for name, value in shown.items()]
    if made and made.password:
        lines.append(f"Password of {made.username}, shown once: {made.password}")
    return lines


def _letters(payload: dict[str, Any]) -> str:
    if payload["is_trial"]:
        return "trial: they reach nobody"
    day = payload["go_live_on"]
    return f"leave from {day}" if day else "none leave until a go-live day is set"


def _day_or_none(text: str) -> date | str:
    return NONE if text == NONE else iso_date(text)


def _count_or_none(text: str) -> int | str:
    if text == NONE:
        return NONE
    if not text.isdecimal():
        raise ArgumentTypeError(f"{text!r} is no count: write a number, or none.")
    return int(text)
