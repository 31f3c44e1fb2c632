"""How a program is set up: its name, clock, letterhead, first letters, first administrator."""

import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from registry.changes import Hand, record_change
from registry.domain.cells import clean
from registry.domain.emails import read_email
from registry.domain.kinds import DateOrder, Role
from registry.domain.zip_prefixes import STATE_NAMES
from registry.models import Firm, Membership, Program

FIELDS = ("name", "zone", "state", "date_order", "is_trial", "go_live_on", "letters_a_day")
LETTERHEAD = ("name", "lines", "phone", "email", "web", "hours")
LONGEST_LINE = 120


class SettingError(ValueError):
    """A setting that cannot be; carries the field, and the message says what to do."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@dataclass(frozen=True, kw_only=True)
class Administrator:
    """A login as made or found; `password` is told once, when one was drawn."""

    username: str
    is_new: bool
    password: str | None = None


def settings_of(program: Program) -> dict[str, Any]:
    """Return the settings of a program; the day it goes live is null until one is set."""
    administrators = User.objects.filter(
        memberships__program=program, memberships__role=Role.ADMINISTRATOR
    ).order_by("username")
    head: Mapping[str, Any] = program.letterhead or {}
    return {
        "program": program.code,
        **{name: _plain(getattr(program, name)) for name in FIELDS},
        "letterhead": {name: head.get(name, [] if name == "lines" else "") for name in LETTERHEAD},
        "contacts": dict(program.contacts or {}),
        "kind": program.kind,
        "firm": _own_firm(program),
        "administrators": list(administrators.values_list("username", flat=True)),
    }


@transaction.atomic
def change_settings(
    *,
    program: Program,
    fields: Mapping[str, Any],
    letterhead: Mapping[str, Any],
    hand: Hand,
) -> Program:
    """Set fields of a program and parts of its letterhead, with one change row.

    `fields` are of FIELDS, `letterhead` of LETTERHEAD; what is not named stays. Raises
    SettingError for a zone, state or address that cannot be, and for less than one letter a day.
    """
    checked = {name: _checked_field(name=name, value=value) for name, value in fields.items()}
    head = {**(program.letterhead or {})}
    head |= {name: _checked_head(name=name, value=value) for name, value in letterhead.items()}
    before = {name: _plain(getattr(program, name)) for name in (*checked, "letterhead")}
    for name, value in checked.items():
        setattr(program, name, value)
    program.letterhead = head
    after = {name: _plain(getattr(program, name)) for name in before}
    if after != before:
        program.save(update_fields=[*checked, "letterhead"])
        record_change(
            hand=hand,
            what="program",
            subject_id=program.pk,
            label=program.code,
            before=before,
            after=after,
            program=program,
        )
    return program


@transaction.atomic
def make_administrator(
    *, program: Program, username: str, password: str | None, hand: Hand
) -> Administrator:
    """Give a person the role of administrator of a program; make the login where there is none.

    Without a password for a new login one is drawn and returned, once. An existing login keeps
    its password. Raises SettingError for a name or a password that the rules of logins refuse.
    """
    made = new_login(username=username, password=password)
    user = User.objects.get(username=username)
    _, is_given = Membership.objects.get_or_create(
        user=user, role=Role.ADMINISTRATOR, program=program, firm=None, party=None
    )
    if is_given:
        record_change(
            hand=hand,
            what="membership",
            subject_id=user.pk,
            label=username,
            before={},
            after={"role": str(Role.ADMINISTRATOR), "program": program.code},
            program=program,
        )
    return made


def new_login(*, username: str, password: str | None) -> Administrator:
    """Make a login where there is none; a password not given is drawn and returned, once.

    Raises SettingError for a name or a password that the rules of logins refuse.
    """
    if not re.fullmatch(r"[\w.@+-]{1,150}", username):
        raise SettingError(
            field="login",
            message=f"{username!r} cannot be a login: use letters, figures and . @ + - _ only.",
        )
    user = User.objects.filter(username=username).first()
    is_new, drawn = user is None, None
    if user is None:
        drawn = None if password else secrets.token_urlsafe(12)
        user = _new_user(username=username, password=password or drawn or "")
    return Administrator(username=username, is_new=is_new, password=drawn)


def _new_user(*, username: str, password: str) -> User:
    user = User(username=username)
    try:
        validate_password(password, user=user)
    except ValidationError as error:
        raise SettingError(field="password", message=" ".join(error.messages)) from error
    user.set_password(password)
    user.save()
    return user


def _checked_field(*, name: str, value: Any) -> Any:
    if name == "zone":
        return _zone(value)
    if name == "state":
        return _state(value)
    if name == "date_order":
        return DateOrder(value).value
    if name == "letters_a_day" and value is not None and value < 1:
        raise SettingError(field=name, message="Allow at least one letter a day, or set no limit.")
    if name == "name" and not clean(value):
        raise SettingError(field=name, message="A program needs a name; write one.")
    return clean(value)[:200] if name == "name" else value


def _zone(value: str) -> str:
    try:
        ZoneInfo(value)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise SettingError(
            field="zone", message=f"{value!r} is no time zone: write one as America/Los_Angeles."
        ) from error
    return value


def _state(value: str) -> str:
    code = value.upper()
    if code and code not in STATE_NAMES:
        raise SettingError(field="state", message=f"{value!r} is no state: write two letters.")
    return code


def _checked_head(*, name: str, value: Any) -> Any:
    if name == "lines":
        return [clean(line)[:LONGEST_LINE] for line in value if clean(line)]
    if name == "email" and value:
        reading = read_email(value)
        if not reading.value:
            raise SettingError(field="email", message=reading.warning or "Write an address.")
        return reading.value
    return clean(value)[:LONGEST_LINE]


def _own_firm(program: Program) -> str | None:
    firm = Firm.objects.filter(own_program=program).first()
    return firm.name if firm else None


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | dict | list):
        return value
    return str(value)
