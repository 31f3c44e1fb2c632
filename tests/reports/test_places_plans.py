"""What premises owe is found by indexes of its own among all that assemblies owe."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.db.models import Min

from notices.actions.clocks import Day
from registry.models import Premises
from reports.queries.places_list import owed_of_places
from scheduling.models import Fact, Obligation
from scheduling.queries.where import at_premises
from tests.bench.million.lives import DAY
from tests.bench.million.plans import scans_of, statement_of
from tests.notices.test_day_plans import day

__all__ = ["day"]

pytestmark = pytest.mark.django_db


def scans(rows: Any) -> list[str]:
    return scans_of(*statement_of(rows.values("pk")))


def not_whole(found: list[str], *, table: str) -> None:
    mine = [line for line in found if table in line]
    assert mine
    assert not any("Seq Scan" in line or line.startswith("SCAN") for line in mine), found


def test_what_is_past_its_day_is_found_by_an_index(day: Day) -> None:
    found = scans(owed_of_places(day.program, today=DAY, late=True).order_by("due_on", "id"))
    not_whole(found, table=Obligation._meta.db_table)
    if connection.vendor == "sqlite":  # PostgreSQL knows that none is of no assembly here
        assert "obligation_of_places" in " ".join(found), found


def test_what_is_owed_at_one_premises_is_found_by_its_subjects(day: Day) -> None:
    if (
        connection.vendor == "postgresql"
    ):  # so few rows fit a few pages, which may well be read whole
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    first = Premises.objects.filter(program=day.program).aggregate(pk=Min("pk"))["pk"]
    found = scans(Obligation.objects.filter(at_premises([first])).order_by())
    not_whole(found, table=Obligation._meta.db_table)


def test_facts_of_services_are_found_by_their_index(day: Day) -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    for subject in ("connection", "premises"):
        found = scans(Fact.objects.filter(**{f"{subject}__in": [1, 2, 3]}).order_by())
        not_whole(found, table=Fact._meta.db_table)
        assert f"fact_by_{subject}" in " ".join(found), found
