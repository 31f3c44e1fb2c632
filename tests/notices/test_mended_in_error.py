"""A type, a use or a kind of service that a person mends for days gone by takes letters back.

Worked by hand after the teaching rulebook `plain-rolling`: rule 4, an RP on high hazard is due
six months after its pass; rule 3, all others a year after. Passed on 1 June 2025 an RP on high
hazard is overdue on 5 January 2026; anything else is not before 2 June.
"""

from __future__ import annotations

import hashlib
from datetime import date
from typing import Any

import pytest
from django.db import connection

from notices.models import Letter, Notice
from notices.queries.touched import touched
from registry.changes import Hand
from registry.models import Assembly, Change, HazardAssessment, Program, ServiceConnection
from scheduling.actions.by_hand.assemblies import change_service_from, keep_assembly
from scheduling.actions.by_hand.surveys import follow_premises
from scheduling.actions.by_hand.uses import keep_premises_from
from scheduling.models import Rulebook
from tests.notices.offices import assembly, office, owner, premises
from tests.notices.test_returned_letters import at, on, run

pytestmark = [pytest.mark.django_db, pytest.mark.database]

PASSED = (("passed", date(2025, 6, 1)),)
LONG_AGO = date(2025, 6, 2)


def only_for(line: str) -> None:
    """Let the rule of six months bind only what a line of the rulebook says."""
    for row in Rulebook.objects.filter(name="plain-rolling"):
        row.text = row.text.replace('types = ["RP", "RPDA", "RPDA-II"]\n', f"{line}\n")
        assert line in row.text
        row.sha256 = hashlib.sha256(row.text.encode()).hexdigest()
        row.save()


def hand(program: Program, day: int) -> Hand:
    return Hand(by="Iva Brandt", at=at(program, day).at, reason="Written down wrong.")


def in_error() -> list[str]:
    rows = Notice.objects.filter(sent_in_error_on__isnull=False).order_by("pk")
    return list(rows.values_list("rung", flat=True))


def corrections() -> int:
    return Letter.objects.filter(kind="correction").count()


@pytest.fixture
def program() -> Program:
    return office()


def overdue(program: Program, **changes: Any) -> Assembly:
    one = assembly(
        premises(program, of=owner(program), use=changes.pop("use", "")),
        facts=PASSED, hazard="high", type="RP", **changes,
    )  # fmt: skip
    run(program, 0)
    assert list(Notice.objects.values_list("rung", flat=True)) == ["first-overdue"]
    return one


def retyped(one: Assembly, *, since: date | None, day: int) -> None:
    names = ("type", "protects", "connection", "maker", "serial", "hazard")
    keep_assembly(
        program=one.program, premises=one.premises, assembly=one,
        values={name: getattr(one, name) for name in names} | {"type": "DC"},
        since=since, today=on(day), hand=hand(one.program, day),
    )  # fmt: skip


@pytest.mark.parametrize("since", [LONG_AGO, None])
def test_a_type_mended_for_the_days_before_takes_the_notice_back_once(
    program: Program, since: date | None
) -> None:
    one = overdue(program)
    retyped(one, since=since, day=3)
    for day in (3, 4, 20):
        run(program, day)
    assert in_error() == ["first-overdue"]
    assert corrections() == 1


def test_a_type_that_changed_after_the_notice_left_takes_nothing_back(program: Program) -> None:
    one = overdue(program)
    retyped(one, since=on(2), day=3)
    run(program, 3)
    assert (in_error(), corrections()) == ([], 0)


def used(one: Assembly, use: str, *, since: date | None, day: int) -> None:
    place = one.premises
    names = ("account", "name", "address", "city", "state", "zip")
    keep_premises_from(
        program=one.program, premises=place,
        values={name: getattr(place, name) for name in names} | {"use": use},
        use_since=since, today=on(day), hand=hand(one.program, day),
    )  # fmt: skip
    follow_premises(program=one.program, premises_ids=[place.pk], today=on(day))


@pytest.mark.parametrize(("since", "errors"), [(LONG_AGO, 1), (None, 1), (on(2), 0)])
def test_a_use_mended_for_the_days_before_takes_the_notice_back(
    program: Program, since: date | None, errors: int
) -> None:
    only_for('uses = ["car wash"]')
    one = overdue(program, use="car wash")
    used(one, "office", since=since, day=3)
    run(program, 3)
    assert (len(in_error()), corrections()) == (errors, errors)


@pytest.mark.parametrize(("since", "errors"), [(LONG_AGO, 1), (on(2), 0)])
def test_a_service_kind_mended_for_the_days_before_takes_the_notice_back(
    program: Program, since: date, errors: int
) -> None:
    only_for('services = ["irrigation"]')
    one = overdue(program, service="irrigation")
    service = ServiceConnection.objects.get()
    values = {"kind": "domestic", "name": service.name, "has_chemicals": None,
              "runs_part_year": None}  # fmt: skip
    change_service_from(
        premises=one.premises, connection=service, values=values, since=since,
        today=on(3), hand=hand(program, 3),
    )  # fmt: skip
    run(program, 3)
    assert (len(in_error()), corrections()) == (errors, errors)


def test_another_name_of_a_premises_is_no_reason_to_ask(program: Program) -> None:
    one = overdue(program)
    place = one.premises
    place.name = "Larch Court North"
    used(one, place.use, since=None, day=3)
    assert touched(program, since=at(program, 2).at) == []


def test_findings_and_changes_have_an_index_by_their_moment(program: Program) -> None:
    # On few rows PostgreSQL reads them all, if it may: what is asked is whether it could do else.
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    since = at(program, 2).at
    found = HazardAssessment.objects.filter(recorded_at__gte=since).order_by()
    changed = Change.objects.filter(program=program, at__gte=since).order_by()
    assert "finding_by_moment" in found.explain()
    assert "change_by_moment" in changed.explain()
