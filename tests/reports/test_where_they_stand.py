"""The database names a standing as the pure rule does, for every mix of dates around a day."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import product

import pytest

from registry.models import Assembly, Premises, Program, ServiceConnection
from reports.queries.where_they_stand import GRAVITY, where_they_stand, with_standing
from scheduling.domain.standing import Standing, StandingDates, standing_on
from scheduling.models import AssemblyState
from tests.access.cast import AT

DAY = date(2026, 2, 28)
AROUND = (None, DAY - timedelta(days=1), DAY, DAY + timedelta(days=1))
SPANS = (None, (-70, -1), (-60, 0), (0, 60), (1, 61))  # days from today to opening and due


def mixes() -> list[StandingDates]:
    """Removed, idle and spans around the day; exempt or not; failed or not; passed or not."""
    return [
        StandingDates(
            removed_on=removed,
            is_exempt=exempt,
            idle_since=idle,
            failed_on=DAY - timedelta(days=3) if failed else None,
            last_passed_on=date(2025, 2, 28) if passed else None,
            opens_on=DAY + timedelta(days=span[0]) if span else None,
            due_on=DAY + timedelta(days=span[1]) if span else None,
        )
        for removed, exempt, idle, failed, passed, span in product(
            AROUND, (False, True), AROUND, (False, True), (False, True), SPANS
        )
    ]


@pytest.fixture
def program(db: None) -> Program:
    program = Program.objects.create(code="flats", name="Flats", created_at=AT)
    site = Premises.objects.create(program=program, address="1 Weir Ln", key="k")
    main = ServiceConnection.objects.create(premises=site, kind="domestic")
    made = Assembly.objects.bulk_create(
        Assembly(
            program=program,
            premises=site,
            connection=main,
            type="DC",
            serial=f"S{place}",
            serial_key=f"S{place}",
            size_in=Decimal(1),
            created_at=AT,
        )
        for place in range(len(mixes()))
    )
    AssemblyState.objects.bulk_create(
        AssemblyState(
            assembly=one,
            program=program,
            removed_on=dates.removed_on,
            is_exempt=dates.is_exempt,
            idle_since=dates.idle_since,
            failed_on=dates.failed_on,
            last_passed_on=dates.last_passed_on,
            opens_on=dates.opens_on,
            due_on=dates.due_on,
            replayed_as_of=DAY,
            replayed_at=AT,
        )
        for one, dates in zip(made, mixes(), strict=True)
    )
    return program


def test_every_mix_stands_as_the_rule_says(program: Program) -> None:
    rows = with_standing(Assembly.objects.filter(program=program), day=DAY).order_by("pk")
    told = list(rows.values_list("standing", "gravity"))
    expected = [standing_on(dates=dates, day=DAY) for dates in mixes()]
    assert [name for name, _ in told] == [one.value for one in expected]
    assert [gravity for _, gravity in told] == [GRAVITY.index(one) for one in expected]
    assert {name for name, _ in told} == {one.value for one in Standing}


def test_the_margin_counts_each_once_and_leaves_out_the_removed(program: Program) -> None:
    stands = where_they_stand(Assembly.objects.filter(program=program), day=DAY)
    expected = [standing_on(dates=dates, day=DAY) for dates in mixes()]
    for one in Standing:
        if one is not Standing.REMOVED:
            assert stands.of(one) == expected.count(one)
    assert stands.removed == expected.count(Standing.REMOVED)
    assert stands.in_registry + stands.removed == len(mixes())
