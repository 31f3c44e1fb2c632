"""Cycles: caps, windows on both sides, month ends, seasons, repeat failures, several kinds."""

from __future__ import annotations

from tests.oracle.every.worked.shape import Case, book, cycle, season, within

ORO = book(cycle("anniversary", early=45, opens_days=45, cap=("months", 12)))
ORO_SOURCE = "Oro Valley AZ 15-23-13: 45 days, no later than 12 months from the last test"
ORO_FIRST = "test met 2022-06-01 2022-06-11 on 2022-06-05"
ORO_SECOND = "test met 2023-04-17 2023-06-01 on 2023-04-20"
BEAVERTON = book(cycle("anniversary", early=30, late=30, opens_days=60))
BEAVERTON_SOURCE = "Beaverton OR 4.02.165: within 30 days of the installation anniversary"
HOME = {"service": "irrigation", "residential": True, "chemicals": False}
LAWN = {"service": ["irrigation"], "residential": [True], "chemicals": [False]}
MICHIGAN = book(cycle(months=60, who=LAWN), cycle(months=36))
MICHIGAN_SOURCE = "R 325.11404: at least every 3 years; chemical-free lawn irrigation may be 5"
SIX = {"every": ("months", 6), "kind": "test", "who": {}}
WAC = book(repeats=[SIX | {"failures": 2, "of_last": 3}])
WAC_SOURCE = "WAC 246-290-490(7): more often for repeat failures; the figures are invented"
TOLEDO = book(
    cycle(),
    cycle(months=30, kind="internal inspection", opens_days=30, who={"type": ["DC"]}),
    kinds=[
        {"name": "test", "met_by": ["test"], "subject": "assembly"},
        {
            "name": "internal inspection",
            "met_by": ["internal inspection"],
            "subject": "assembly",
        },
    ],
)
SURVEY = book(
    cycle(months=60, kind="survey"),
    kinds=[{"name": "survey", "met_by": ["survey"], "subject": "premises"}],
)
SPRING = season((3, 1), (5, 31), credit_from=(10, 1))

HOW_OFTEN = (
    Case(
        name="a year from a test in the window is before the anniversary",
        rule="1",
        source=ORO_SOURCE,
        book=ORO,
        facts="installed 2022-06-01, passed 2022-06-05, passed 2023-04-20",
        as_of="2023-05-01",
        standing="good",
        rows=("test coming 2024-03-06 2024-04-20", ORO_FIRST, ORO_SECOND),
        words="1 Jun - 45 = 17 Apr. 20 Apr 2024 < 1 Jun 2024; 20 to 31 Mar, 25 to 6 Mar.",
    ),
    Case(
        name="a test in the window of the capped date meets that anniversary",
        rule="1",
        source=ORO_SOURCE,
        book=ORO,
        facts="installed 2022-06-01, passed 2022-06-05, passed 2023-04-20, passed 2024-03-10",
        as_of="2024-03-11",
        standing="good",
        rows=(
            "test coming 2025-01-24 2025-03-10",
            ORO_FIRST,
            ORO_SECOND,
            "test met 2024-03-06 2024-04-20 on 2024-03-10",
        ),
        words="Met for 1 June 2024; the next is 1 June 2025, capped to 10 Mar: 10 to 28 Feb,"
        " 28 to 31 Jan, 7 to 24 Jan.",
    ),
    Case(
        name="a test a day before the window of the capped date counts anew from itself",
        rule="1",
        source=ORO_SOURCE,
        book=ORO,
        facts="installed 2022-06-01, passed 2022-06-05, passed 2023-04-20, passed 2024-03-05",
        as_of="2024-03-11",
        standing="good",
        rows=("test coming 2025-01-19 2025-03-05", ORO_FIRST, ORO_SECOND),
        words="The window opens on 6 March. 5 Mar - 45: 5 to 28 Feb, 28 to 31 Jan, 12 to 19 Jan.",
    ),
    Case(
        name="thirty days on either side of the anniversary",
        rule="2",
        source=BEAVERTON_SOURCE,
        book=BEAVERTON,
        facts="installed 2023-09-10, passed 2023-09-12",
        as_of="2023-10-01",
        standing="good",
        rows=("test coming 2024-08-11 2024-10-10", "test met 2023-09-10 2023-09-20 on 2023-09-12"),
        words="10 Sep + 30 = 10 Oct; - 60: 10 to 30 Sep, 30 to 31 Aug, 20 to 11 Aug.",
    ),
    Case(
        name="a test in the days after the anniversary keeps it",
        rule="2",
        source=BEAVERTON_SOURCE,
        book=BEAVERTON,
        facts="installed 2023-09-10, passed 2023-09-12, passed 2024-10-05",
        as_of="2024-10-06",
        standing="good",
        rows=(
            "test coming 2025-08-11 2025-10-10",
            "test met 2023-09-10 2023-09-20 on 2023-09-12",
            "test met 2024-08-11 2024-10-10 on 2024-10-05",
        ),
        words="5 October is within the 30 days after 10 September.",
    ),
    Case(
        name="365 days are a day short of a leap year",
        rule="4",
        source="Crossville TN: within 365 days of the last test",
        book=book(cycle(every=("days", 365))),
        facts="passed 2024-01-15",
        as_of="2024-02-01",
        standing="good",
        rows=("test coming 2024-11-15 2025-01-14",),
        words="366 days to 15 Jan 2025. - 60: 14 to 31 Dec, 31 to 30 Nov, 15 to 15 Nov.",
    ),
    Case(
        name="due at the end of the month, counted from the test itself",
        rule="3",
        book=book(cycle(month_end=True)),
        facts="passed 2025-02-10, passed 2026-02-20",
        as_of="2026-03-01",
        standing="good",
        rows=("test coming 2026-12-30 2027-02-28", "test met 2025-12-30 2026-02-28 on 2026-02-20"),
        words="10 Feb 2026 becomes the 28th; - 60: 28 to 31 Jan, 31 to 31 Dec, 1 to 30 Dec.",
    ),
    Case(
        name="three years from a leap day",
        rule="4",
        source=MICHIGAN_SOURCE,
        book=MICHIGAN,
        facts="passed 2024-02-29",
        as_of="2024-03-01",
        standing="good",
        rows=("test coming 2026-12-30 2027-02-28",),
        words="2027 has no 29 February. - 60: 28 to 31 Jan, 31 to 31 Dec, 1 to 30 Dec.",
    ),
    Case(
        name="five years for a lawn without chemicals",
        rule="4",
        source=MICHIGAN_SOURCE,
        book=MICHIGAN,
        thing=HOME,
        facts="passed 2024-02-29",
        as_of="2024-03-01",
        standing="good",
        rows=("test coming 2028-12-30 2029-02-28",),
        words="2029 has no 29 February.",
    ),
    Case(
        name="chemicals nobody recorded are taken to be there",
        rule="matching",
        source=MICHIGAN_SOURCE,
        book=MICHIGAN,
        thing=HOME | {"chemicals": None},
        facts="passed 2024-02-29",
        as_of="2024-03-01",
        standing="good",
        rows=("test coming 2026-12-30 2027-02-28",),
        words="The stricter of the two: three years.",
    ),
    Case(
        name="two failed rounds of the last three halve the year",
        rule="1",
        source=WAC_SOURCE,
        book=WAC,
        facts="passed 2021-05-03, failed 2022-05-02, passed 2022-05-09, failed 2023-05-08,"
        "passed 2023-05-15",
        as_of="2023-06-01",
        standing="good",
        rows=(
            "test coming 2023-09-16 2023-11-15",
            "test met 2022-03-04 2022-05-03 cure 2022-05-23 on 2022-05-09",
            "test met 2023-03-10 2023-05-09 cure 2023-05-29 on 2023-05-15",
        ),
        words="Fine, failed, failed. 15 May + 6 months; - 60: 15 to 31 Oct, 31, 14 to 16 Sep.",
    ),
    Case(
        name="a report that found it failing and passed it is a failed round",
        rule="1",
        source=WAC_SOURCE,
        book=WAC,
        facts="passed 2021-05-03, passed 2022-05-02 mended, passed 2023-05-01 mended",
        as_of="2023-06-01",
        standing="good",
        rows=(
            "test coming 2023-09-02 2023-11-01",
            "test met 2022-03-04 2022-05-03 cure 2022-05-23 on 2022-05-02",
            "test met 2023-03-03 2023-05-02 cure 2023-05-22 on 2023-05-01",
        ),
        words="1 May + 6 months = 1 Nov; 1 to 31 Oct, 31 to 30 Sep, 28 to 2 Sep. Cure: + 21.",
    ),
    Case(
        name="two fine rounds after two failed ones give the year back",
        rule="1",
        source=WAC_SOURCE,
        book=WAC,
        facts="passed 2022-05-02 mended, passed 2022-10-31 mended, passed 2023-04-28,"
        "passed 2023-10-27",
        as_of="2023-11-01",
        standing="good",
        rows=(
            "test coming 2024-08-28 2024-10-27",
            "test met 2022-10-31 2023-05-02 cure 2022-11-21 on 2022-10-31",
            "test met 2023-03-01 2023-04-30 on 2023-04-28",
            "test met 2023-08-29 2023-10-28 on 2023-10-27",
        ),
        words="First round failed: 2 May 2023. Two failed: 31 Oct + 6 = 30 Apr. Failed, failed,"
        " fine: 28 Oct. Failed, fine, fine: 27 Oct 2024; 27 to 30 Sep, 30 to 31 Aug, 3 to 28 Aug.",
    ),
    Case(
        name="repeat failures bring a season forward and leave it its season",
        rule="1",
        book=book(SPRING, repeats=[SIX | {"failures": 1, "of_last": 1}]),
        facts="passed 2025-04-01 mended",
        as_of="2025-06-01",
        standing="good",
        rows=("test coming 2025-07-02 2025-10-01", "test met 2025-04-01 2025-05-31 on 2025-04-01"),
        words="1 Mar to 31 May are 91 days; 1 Oct - 91: 1, 30, 31 to 31 Jul, 29 to 2 Jul.",
    ),
    Case(
        name="without a cut-off a season counts from its first day",
        rule="4",
        source="Covington WA, 1 Jan to 31 Jul",
        book=book(season((1, 1), (7, 31))),
        facts="passed 2025-12-20",
        as_of="2025-12-21",
        standing="good",
        rows=("test coming 2026-01-01 2026-07-31", "test met 2025-12-20 2025-07-31 on 2025-12-20"),
        words="1 January to 31 December 2025 holds it.",
    ),
    Case(
        name="a season over the new year",
        rule="6",
        book=book(season((11, 1), (2, 28), credit_from=(5, 1))),
        facts="passed 2025-01-10",
        as_of="2025-02-01",
        standing="good",
        rows=("test coming 2025-11-01 2026-02-28", "test met 2025-01-10 2025-02-28 on 2025-01-10"),
        words="1 May 2024 to 30 April 2025 holds it: the season that ends on 28 February 2025.",
    ),
    Case(
        name="a spring season from the first of January",
        rule="4",
        source="Cross Valley WA, 1 Jan to 31 May",
        book=book(season((1, 1), (5, 31))),
        facts="passed 2025-03-03",
        as_of="2026-06-01",
        standing="overdue",
        rows=("test met 2025-03-03 2025-05-31 on 2025-03-03", "test open 2026-01-01 2026-05-31"),
        words="Due on 31 May 2026; 1 June is the day after.",
    ),
    Case(
        name="an internal inspection every thirty months beside the yearly test",
        rule="10",
        source="Toledo OH 204.09: 12 months; a DC opened for inspection every 30 months",
        book=TOLEDO,
        facts="passed 2025-01-31, passed 2025-08-31 of internal inspection",
        as_of="2025-09-01",
        standing="good",
        rows=(
            "internal inspection coming 2028-01-30 2028-02-29",
            "test coming 2025-12-02 2026-01-31",
        ),
        words="31 Aug 2025 + 30 months: February 2028 ends on the 29th, - 30 = 30 Jan."
        " 31 Jan - 60: 31 to 31 Dec, 29 to 2 Dec.",
    ),
    Case(
        name="a hazard assessment meets the re-survey of a premises",
        rule="10",
        book=SURVEY,
        thing={"type": None, "subject": "premises"},
        facts="assessed 2021-02-28",
        as_of="2021-03-01",
        standing="good",
        rows=("survey coming 2025-12-30 2026-02-28",),
        words="Five years; - 60: 28 to 31 Jan, 31 to 31 Dec, 1 to 30 Dec.",
    ),
    Case(
        name="a first test within working days of the office",
        rule="5",
        book=book(no_date=[within(10, working=True)]),
        facts="failed 2026-11-24",
        as_of="2026-11-24",
        standing="failed",
        rows=("test open 2026-11-24 2026-12-09 cure 2026-12-15",),
        holidays=("2026-11-26",),
        words="No date known: 25, 27, 30 Nov, 1, 2, 3, 4, 7, 8, 9 Dec. Cure: 6 to 30 Nov, 15 more.",
    ),
)
