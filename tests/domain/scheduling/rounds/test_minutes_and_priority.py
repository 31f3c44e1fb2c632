"""Minutes of a visit and its points; the figures are common practice and our own weights."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from scheduling.domain.rounds.minutes import AssemblyJob, VisitTimes, service_minutes
from scheduling.domain.rounds.priority import LEAST_POINTS, DueTest, points, visit_points

TODAY = date(2026, 11, 25)


def test_setting_up_counts_once_per_premises() -> None:
    times = VisitTimes()
    one = service_minutes([AssemblyJob("RP", Decimal("0.75"))], times=times)
    two = service_minutes([AssemblyJob("RP", Decimal("0.75"))] * 2, times=times)
    assert (one, two) == (30, 50)


def test_a_large_valve_takes_longer_by_the_largest_step_it_reaches() -> None:
    sizes = ["2", "2.5", "4", "6", "10"]
    minutes = [service_minutes([AssemblyJob("DC", Decimal(s))], times=VisitTimes()) for s in sizes]
    assert minutes == [25, 30, 30, 35, 35]


def test_the_worked_example_of_the_docstring() -> None:
    jobs = [AssemblyJob("RP", Decimal("0.75")), AssemblyJob("DC", Decimal(6))]
    assert service_minutes(jobs, times=VisitTimes()) == 55


def test_an_unlisted_type_takes_as_long_as_an_rp_and_no_jobs_no_time() -> None:
    assert service_minutes([AssemblyJob("new kind")], times=VisitTimes()) == 30
    assert service_minutes([], times=VisitTimes()) == 0


def test_a_program_may_have_its_own_minutes() -> None:
    own = VisitTimes(setup_minutes=5, by_type={"RP": 12}, by_size=(), source="learned")
    assert service_minutes([AssemblyJob("RP", Decimal(8))], times=own) == 17


def low(days_late: int, *, failed: bool = False) -> DueTest:
    return DueTest(TODAY - timedelta(days=days_late), failed=failed, high_hazard=False)


def high(days_late: int, *, failed: bool = False) -> DueTest:
    return DueTest(TODAY - timedelta(days=days_late), failed=failed, high_hazard=True)


def test_failed_outranks_overdue_outranks_coming_on_the_same_hazard() -> None:
    ordered = [low(0, failed=True), low(4000), low(1), low(0), low(-30)]
    worth = [points(test, on=TODAY) for test in ordered]
    assert worth == sorted(worth, reverse=True)
    assert len(set(worth)) == len(worth)


def test_high_hazard_counts_double() -> None:
    assert points(high(-5), on=TODAY) == 2 * points(low(-5), on=TODAY)


def test_the_examples_of_the_docstring() -> None:
    assert points(low(30), on=TODAY) == 630
    assert points(low(-40), on=TODAY) == 160
    assert points(high(0, failed=True), on=TODAY) == 4000


def test_a_visit_is_worth_all_its_tests_and_never_less_than_the_least() -> None:
    far = low(-300)
    assert visit_points([far, far], on=TODAY) == 2 * LEAST_POINTS
    assert visit_points([], on=TODAY) == LEAST_POINTS
