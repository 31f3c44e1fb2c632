"""The assigning page and the call list find their rows by indexes, on either database.

A planner may well read a small table whole, so on PostgreSQL it is asked not to: a statement that
then still scans has no index that serves it. On SQLite a scan of a table stays a scan.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.db import connection
from django.db.models import QuerySet
from django.test.utils import CaptureQueriesContext

from registry.models import Premises, Program
from reports.domain.map_areas import DrawnArea
from reports.queries.assigning import Area, assignable, assignable_pks
from reports.queries.jobs import call_list
from tests.bench.million.lives import DAY
from tests.bench.million.plans import scans_of, statement_of
from tests.bench.million.small import fill_small

pytestmark = [pytest.mark.django_db, pytest.mark.database]

SIZE = 6000


@pytest.fixture
def program(monkeypatch: pytest.MonkeyPatch) -> Program:
    """The largest program of a small registry of three, its tables counted by the database."""
    return fill_small(monkeypatch, size=SIZE, lives=300)[0].program


Ask = Callable[[Program], object]
TOWN = DrawnArea(corners=((24.0, -125.0), (49.5, -125.0), (49.5, -66.0), (24.0, -66.0)))
NAMED = Area(squares=("A1",), zips=("99171",), streets=("Slough",))
ASKS: dict[str, Ask] = {
    "free premises": lambda program: assignable(program, area=Area(only_free=True), today=DAY),
    "an area by name": lambda program: assignable(program, area=NAMED, today=DAY),
    "an area drawn": lambda program: assignable_pks(program, area=Area(drawn=TOWN), today=DAY),
    "the office's calls": lambda program: call_list(program, today=DAY),
    "a company's calls": lambda program: call_list(program, today=DAY, among=few(program)),
}


def few(program: Program) -> QuerySet[Premises]:
    """Some premises of a program, as those assigned to a company are asked for."""
    return Premises.objects.filter(assignments__program=program)


def whole_reads(line: str) -> bool:
    """Whether a line of a plan reads a table, or an index of it, from end to end."""
    return "Seq Scan" in line or (line.startswith("SCAN") and "subquery" not in line)


def test_no_table_is_read_whole(program: Program) -> None:
    found, looked_at = [], set()
    for name, ask in ASKS.items():
        with CaptureQueriesContext(connection) as caught:
            ask(program)
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET LOCAL enable_seqscan = off")
        for one in caught.captured_queries:
            for line in scans_of(one["sql"].replace("%", "%%"), ()):
                looked_at.update(re.findall(r"\b[a-z]+_[a-z_]+", line))
                if whole_reads(line):
                    found.append((name, line, one["sql"][:200]))
    assert found == []
    # No job stands in this registry: which index of an empty table PostgreSQL takes is its affair.
    jobs = "reports_job" if connection.vendor == "postgresql" else "job_standing"
    assert {"scheduling_obligation", jobs} <= looked_at, looked_at


def test_a_read_without_an_index_is_seen(program: Program) -> None:
    """What the check above would say of a column that no index holds."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    rows = Premises.objects.filter(program=program, city="Nowhere").order_by().values("city")
    by_city = Premises.objects.filter(city="Nowhere").order_by().values("city")
    assert not any(map(whole_reads, scans_of(*statement_of(rows))))
    assert any(map(whole_reads, scans_of(*statement_of(by_city))))
