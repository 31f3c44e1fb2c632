"""A testing company that stands alone: a program of its own kind, tied to the company."""

from __future__ import annotations

import re
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from registry.actions.program_settings import Administrator, SettingError, new_login
from registry.changes import Hand, record_change
from registry.domain.cells import clean
from registry.domain.identity import firm_key
from registry.domain.kinds import ProgramKind, Role
from registry.models import Firm, Membership, Program


@transaction.atomic
def keep_own_customers(*, code: str, firm_name: str, hand: Hand, now: datetime) -> Program:
    """Make a program the one in which a testing company keeps its own customers.

    Program and company are made where there are none; done twice, nothing changes. Its
    dispatchers work in it as clerks do, and set up its rulebook and settings. Raises
    SettingError where either is tied elsewhere.
    """
    firm = _firm(firm_name)
    program = Program.objects.select_for_update().filter(code=code).first()
    program = program or _program(code=code, name=firm.name, now=now)
    other = Firm.objects.filter(own_program=program).exclude(pk=firm.pk).first()
    if other is not None:
        raise SettingError(
            field="own_customers", message=f"Program {code} holds the customers of {other.name}."
        )
    if firm.own_program is not None and firm.own_program != program:
        raise SettingError(
            field="own_customers",
            message=f"{firm.name} keeps its customers in program {firm.own_program.code}.",
        )
    before = {"kind": program.kind, "firm": firm.name if firm.own_program else ""}
    program.kind = ProgramKind.OWN_CUSTOMERS.value
    program.save(update_fields=["kind"])
    firm.own_program = program
    firm.save(update_fields=["own_program"])
    record_change(
        hand=hand,
        what="program",
        subject_id=program.pk,
        label=program.code,
        before=before,
        after={"kind": program.kind, "firm": firm.name},
        program=program,
        firm=firm,
    )
    return program


@transaction.atomic
def make_dispatcher(
    *, program: Program, username: str, password: str | None, hand: Hand
) -> Administrator:
    """Give a person the role of dispatcher of the company whose own program this is.

    As with an administrator, a login is made where there is none. Raises SettingError.
    """
    firm = Firm.objects.filter(own_program=program).first()
    if firm is None:
        raise SettingError(
            field="dispatcher",
            message=f"Program {program.code} is no testing company's own: name --own-customers.",
        )
    made = new_login(username=username, password=password)
    user = User.objects.get(username=username)
    _, is_given = Membership.objects.get_or_create(
        user=user, role=Role.DISPATCHER, firm=firm, program=None, party=None
    )
    if is_given:
        record_change(
            hand=hand,
            what="membership",
            subject_id=user.pk,
            label=username,
            before={},
            after={"role": str(Role.DISPATCHER), "firm": firm.name},
            firm=firm,
        )
    return made


def _firm(name: str) -> Firm:
    shown = clean(name)[:200]
    if not firm_key(shown):
        raise SettingError(field="own_customers", message="Name the testing company.")
    found, _ = Firm.objects.get_or_create(key=firm_key(shown), defaults={"name": shown})
    return found


def _program(*, code: str, name: str, now: datetime) -> Program:
    if not re.fullmatch(r"[-a-zA-Z0-9_]{1,60}", code):
        raise SettingError(
            field="program",
            message=f"{code!r} cannot be a program's code: use letters, figures and dashes.",
        )
    return Program.objects.create(code=code, name=name, created_at=now)
