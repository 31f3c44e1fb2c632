"""Dates as offices write them, against the calendar of the standard library and dateutil."""

from datetime import date, time, timedelta

import pytest
from dateutil import parser as dateutil_parser
from hypothesis import given
from hypothesis import strategies as st

from registry.domain.cells import UnreadableCellError
from registry.domain.kinds import DateOrder
from registry.domain.written_dates import DAY_ZERO, read_date, read_past_date, time_of_day

US, EUROPE = DateOrder.MONTH_FIRST, DateOrder.DAY_FIRST
TODAY = date(2026, 11, 25)
PI_DAY = date(2025, 3, 14)
DAYS = st.dates(min_value=date(1950, 1, 1), max_value=date(2045, 12, 31))


@pytest.mark.parametrize(
    "written",
    ["2025-03-14", "03/14/2025", "3/14/25", "3-14-2025", "3.14.2025", "14-Mar-25", "14 Mar 2025",
     "14-March-2025", "March 14, 2025", "Mar 14 25", "Mar. 14, 2025", "14MAR2025", "45730",
     "45730.5", "20250314", "2025/3/14", "3/14/2025 12:00:00 AM", "2025-03-14T08:30:00",
     "2025-03-14 00:00:00",
     "2025-03-14T00:00:00Z", "Friday, March 14, 2025", "Fri 3/14/2025", " 3 / 14 / 2025 ",
     "14th March 2025", "3/14/'25"],
)  # fmt: skip
def test_every_spelling_of_one_day_is_that_day(written: str) -> None:
    assert read_date(written, order=US, as_of=TODAY) == PI_DAY


def test_figures_follow_the_programs_order() -> None:
    assert read_date("3/4/2025", order=US, as_of=TODAY) == date(2025, 3, 4)
    assert read_date("3/4/2025", order=EUROPE, as_of=TODAY) == date(2025, 4, 3)
    assert read_date("14.3.2025", order=EUROPE, as_of=TODAY) == PI_DAY


@pytest.mark.parametrize(
    "written", ["", "  ", "n/a", "N/A", "unknown", "Unknown", "none", "-", "—"]
)
def test_blank_and_unknown_mean_that_there_is_no_date(written: str) -> None:
    assert read_date(written, order=US, as_of=TODAY) is None


@pytest.mark.parametrize(
    "written",
    ["13/45/2020", "25/11/2026", "31/02/2025", "2/29/2025", "0000-00-00", "0025-01-01",
     "last spring", "2025", "Mar-25", "3/2025", "12", "4/5", "1/1/1", "99999", "1234",
     "2025-W01-1", "nan", "inf",
     "1e5", "-5", "１２/1/2025", "2025-3", "tbd", "14-Foo-25", "2025-13-01",
     "3/14-2025", "20251301"],
)  # fmt: skip
def test_a_date_that_is_no_date_is_unreadable_and_says_what_to_write(written: str) -> None:
    with pytest.raises(UnreadableCellError, match="2025-03-14"):
        read_date(written, order=US, as_of=TODAY)


def test_a_month_beyond_twelve_says_in_which_order_dates_are_read() -> None:
    with pytest.raises(UnreadableCellError, match="month first"):
        read_date("25/11/2026", order=US, as_of=TODAY)


@pytest.mark.parametrize(
    ("written", "year"), [("1/5/27", 2027), ("1/5/46", 2046), ("1/5/47", 1947), ("1/5/99", 1999)]
)
def test_two_figures_are_the_year_at_most_twenty_years_ahead(written: str, year: int) -> None:
    found = read_date(written, order=US, as_of=TODAY)
    assert found is not None
    assert found.year == year


def test_what_has_happened_cannot_lie_after_today() -> None:
    assert read_past_date("11/25/2026", order=US, as_of=TODAY) == TODAY
    for written in ("11/26/2026", "2031-01-01", "1/1/27"):
        with pytest.raises(UnreadableCellError, match="after 2026-11-25"):
            read_past_date(written, order=US, as_of=TODAY)


def test_leap_days_are_read_in_leap_years_alone() -> None:
    assert read_date("2/29/24", order=US, as_of=TODAY) == date(2024, 2, 29)
    assert read_date("29-Feb-2024", order=US, as_of=TODAY) == date(2024, 2, 29)
    with pytest.raises(UnreadableCellError):
        read_date("29-Feb-2023", order=US, as_of=TODAY)


def test_day_numbers_count_as_spreadsheets_count() -> None:
    # 25569 is 1 January 1970 in a spreadsheet (the Unix epoch), 45658 is 1 January 2025
    assert read_date("25569", order=US, as_of=TODAY) == date(1970, 1, 1)
    assert read_date("45658", order=US, as_of=TODAY) == date(2025, 1, 1)


@given(
    DAYS, st.sampled_from(["%Y-%m-%d", "%m/%d/%Y", "%d-%b-%Y", "%B %d, %Y", "%d %b %Y", "%Y%m%d"])
)
def test_any_day_in_any_spelling_is_read_as_a_general_library_reads_it(day: date, how: str) -> None:
    written = day.strftime(how)
    assert dateutil_parser.parse(written).date() == day
    assert read_date(written, order=US, as_of=TODAY) == day


@given(DAYS)
def test_any_day_number_is_that_many_days_after_day_zero(day: date) -> None:
    number = str((day - DAY_ZERO).days)
    assert read_date(number, order=US, as_of=TODAY) == DAY_ZERO + timedelta(days=int(number)) == day


@given(st.dates(min_value=date(1947, 1, 1), max_value=date(2046, 12, 31)))
def test_any_two_figure_year_within_the_century_around_today_is_its_own(day: date) -> None:
    assert read_date(f"{day.month}/{day.day}/{day:%y}", order=US, as_of=TODAY) == day
    assert read_date(f"{day.day}/{day.month}/{day:%y}", order=EUROPE, as_of=TODAY) == day


@given(st.text(max_size=24))
def test_no_text_does_anything_but_read_or_refuse(written: str) -> None:
    try:
        found = read_date(written, order=US, as_of=TODAY)
    except UnreadableCellError:
        return
    assert found is None or 1900 <= found.year <= 2199


@pytest.mark.parametrize(
    ("written", "moment"),
    [("14:05", time(14, 5)), ("2:05 PM", time(14, 5)), ("3/14/2025 12:00:00 AM", time(0)),
     ("12:30 pm", time(12, 30)), ("25:00", None), ("3/14/2025", None)],
)  # fmt: skip
def test_a_time_of_day_is_read_where_there_is_one(written: str, moment: time | None) -> None:
    assert time_of_day(written) == moment
