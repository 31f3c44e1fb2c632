"""A list makes a known number of queries, however many rows it shows."""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from registry.domain.identity import premises_key, serial_key
from registry.models import Assembly, Premises, ServiceConnection
from scheduling.actions.replaying import replay_assemblies
from tests.access.addresses import address
from tests.access.cast import AT, TODAY, Office, made_cast
from tests.access.test_matrix import BACKEND

COUNTS = Path(__file__).parent / "query_counts.csv"


def known_counts() -> dict[str, int]:
    lines = [line for line in COUNTS.read_text().splitlines() if not line.startswith("#")]
    return {row["name"]: int(row["queries"]) for row in csv.DictReader(lines)}


@pytest.fixture
def office(db: None, client: Client) -> Office:
    cast = made_cast()
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    return cast.home


def queries(client: Client, where: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as found:
        assert client.get(where).status_code == 200
    return len(found)


def add_assemblies(office: Office, *, number: int) -> None:
    made = []
    for place in range(number):
        where = f"{place} Slough Rd"
        site = Premises.objects.create(
            program=office.program,
            address=where,
            lat=Decimal("46.85"),
            lon=Decimal("-118.27") + Decimal(place) / 100,
            key=premises_key(account="", address=where, city=""),
        )
        main = ServiceConnection.objects.create(premises=site, kind="domestic")
        made.append(
            Assembly.objects.create(
                program=office.program,
                premises=site,
                connection=main,
                type="DC",
                serial=f"B{place}",
                serial_key=serial_key(f"B{place}"),
                size_in=Decimal(1),
                created_at=AT,
            ).pk
        )
    replay_assemblies(program=office.program, assembly_ids=made, as_of=TODAY)


def test_each_page_makes_the_queries_the_file_says(client: Client, office: Office) -> None:
    found = {name: queries(client, address(name, office)) for name in known_counts()}
    assert found == known_counts()


@pytest.mark.parametrize("name", ["registry", "registry-map", "today", "letters", "rounds"])
def test_more_rows_make_no_more_queries(client: Client, office: Office, name: str) -> None:
    few = queries(client, address(name, office))
    add_assemblies(office, number=12)
    assert queries(client, address(name, office)) == few
