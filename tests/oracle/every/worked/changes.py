"""Changes in mid-cycle: of the rulebook, of hazard, use and type, of the kinds asked for."""

from __future__ import annotations

from tests.oracle.every.worked.shape import Case, book, cycle, season, within

YEARLY = book()
HALF = book(cycle(months=6))
WASH = book(cycle(months=6, who={"use": ["car wash"]}), cycle())
HIGH = book(cycle(months=6, who={"hazard": ["high"]}), cycle())
SPRING = book(season((3, 1), (5, 31), credit_from=(10, 1)))
ANNIVERSARY = book(cycle("anniversary", early=45, opens_days=45))
NO_GAP = book(exempt=[{"kind": "test", "who": {"type": ["AG"]}}])
TWO = book(
    cycle(),
    cycle(months=24, kind="inspection"),
    kinds=[
        {"name": "test", "met_by": ["test"], "subject": "assembly"},
        {"name": "inspection", "met_by": ["inspection"], "subject": "assembly"},
    ],
)

CHANGES = (
    Case(
        name="a shorter cycle gives the days of transition",
        rule="point 9",
        book=YEARLY,
        books=(("2025-09-01", HALF),),
        facts="passed 2025-01-10",
        as_of="2025-09-02",
        standing="due",
        rows=("test open 2025-09-01 2025-10-01",),
        words="10 July is past: 1 Sep + 30 = 1 Oct, before 10 Jan 2026.",
    ),
    Case(
        name="transition in working days",
        rule="5",
        book=YEARLY,
        books=(("2025-09-02", HALF | {"transition": [within(5, working=True)]}),),
        facts="passed 2025-01-10",
        as_of="2025-09-03",
        standing="due",
        rows=("test open 2025-09-02 2025-09-09",),
        words="From Tuesday 2 Sep: 3, 4, 5, 8, 9.",
    ),
    Case(
        name="a use found to be a car wash halves the year",
        rule="point 9",
        book=WASH,
        turns=(("2025-03-01", {"use": "Car Wash "}),),
        facts="passed 2025-01-10",
        as_of="2025-03-02",
        standing="good",
        rows=("test coming 2025-05-11 2025-07-10",),
        words="10 July is later than 1 Mar + 30. - 60: 10 to 30 Jun, 30 to 31 May, 20 to 11 May.",
    ),
    Case(
        name="a hazard found low gives the year back",
        rule="point 9",
        book=HIGH,
        thing={"hazard": "high"},
        turns=(("2025-06-01", {"hazard": "low"}),),
        facts="passed 2025-01-10",
        as_of="2025-06-02",
        standing="due",
        rows=("test open 2025-05-11 2026-01-10",),
        words="Opened on 11 May for 10 July; it stays open, due in a year.",
    ),
    Case(
        name="an assembly replaced by an air gap is excused",
        rule="point 9",
        book=NO_GAP,
        turns=(("2024-12-01", {"type": "AG"}),),
        facts="passed 2024-01-10",
        as_of="2025-03-01",
        standing="exempt",
        rows=("test excused 2024-11-11 2025-01-10 on 2024-12-01",),
        words="Open since 11 November.",
    ),
    Case(
        name="an air gap replaced by an assembly has the days of transition",
        rule="point 9",
        book=NO_GAP,
        thing={"type": "AG"},
        turns=(("2025-03-01", {"type": "DC"}),),
        facts="passed 2023-01-10",
        as_of="2025-03-01",
        standing="due",
        rows=("test open 2025-03-01 2025-03-31",),
        words="A year from 10 Jan 2023 is past: 1 Mar + 30 = 31 Mar.",
    ),
    Case(
        name="from a year to a season",
        rule="point 9",
        book=YEARLY,
        books=(("2025-06-01", SPRING),),
        facts="passed 2025-01-10",
        as_of="2025-06-02",
        standing="good",
        rows=("test coming 2026-03-01 2026-05-31",),
        words="10 January is credited to May 2025; 31 May 2026 is later than 10 January 2026.",
    ),
    Case(
        name="from a season to a year",
        rule="point 9",
        book=SPRING,
        books=(("2025-06-01", YEARLY),),
        facts="passed 2025-01-10",
        as_of="2025-06-02",
        standing="good",
        rows=("test coming 2025-11-11 2026-01-10", "test met 2025-01-10 2025-05-31 on 2025-01-10"),
        words="31 May 2026 becomes 10 January 2026, far beyond 1 July.",
    ),
    Case(
        name="from a year to the anniversary of the installation",
        rule="point 9",
        book=YEARLY,
        books=(("2025-08-01", ANNIVERSARY),),
        facts="installed 2020-11-20, passed 2020-11-24, passed 2024-12-05",
        as_of="2025-08-02",
        standing="good",
        rows=(
            "test coming 2025-10-06 2025-11-20",
            "test met 2020-11-20 2020-11-30 on 2020-11-24",
            "test met 2021-09-25 2021-11-24 on 2024-12-05",
        ),
        words="The window of 20 Nov opens on 6 Oct (20 to 31 Oct, 25), after the last test.",
    ),
    Case(
        name="a kind of work newly asked for, of which nothing is known",
        rule="10",
        book=YEARLY,
        books=(("2025-06-02", TWO),),
        facts="failed 2025-01-10, passed 2025-01-20",
        as_of="2025-06-02",
        standing="good",
        rows=(
            "inspection open 2025-06-02 2025-07-02",
            "test coming 2025-11-21 2026-01-20",
            "test met 2025-01-10 2025-02-09 cure 2025-01-31 on 2025-01-20",
        ),
        words="2 June + 30 = 2 July. The test: no date known, 10 Jan + 30; cure + 21."
        " 20 Jan - 60: 20 to 31 Dec, 31 to 30 Nov, 9 to 21 Nov.",
    ),
    Case(
        name="a kind of work no longer asked for is excused",
        rule="10",
        book=TWO,
        books=(("2025-06-01", YEARLY),),
        facts="passed 2024-12-10, passed 2023-06-15 of inspection",
        as_of="2025-06-02",
        standing="good",
        rows=(
            "inspection excused 2025-04-16 2025-06-15 on 2025-06-01",
            "test coming 2025-10-11 2025-12-10",
        ),
        words="15 Jun - 60: 15 to 31 May, 31 to 30 Apr, 14 to 16 Apr. 10 Dec - 60: 10 to 30 Nov,"
        " 30 to 31 Oct, 20 to 11 Oct.",
    ),
)
