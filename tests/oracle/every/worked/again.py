"""What is asked for again, and what happens on one day: exemptions, holds, two reports."""

from __future__ import annotations

from tests.oracle.every.worked.shape import Case, book, cycle, season

PLAIN = book()
NO_FIRST_TEST = book(events=[])
ALL_BUT_AIR_GAPS = book(exempt=[{"kind": "test", "who": {"type": ["AG"]}}])

AGAIN = (
    Case(
        name="a first test excused on its own day is owed again under a rulebook without one",
        rule="9",
        book=PLAIN,
        books=(("2024-03-01", NO_FIRST_TEST),),
        facts="installed 2024-01-10, exempted 2024-01-10, included 2024-05-02",
        as_of="2024-05-02",
        standing="untested",
        rows=(
            "test excused 2024-01-10 2024-01-20 on 2024-01-10",
            "test open 2024-05-02 2024-06-01",
        ),
        words="It was asked for in January and never done: 2 May + 30 = 1 June.",
    ),
    Case(
        name="an installation during an exemption asks for what the rulebook of the inclusion asks",
        rule="9",
        book=PLAIN,
        books=(("2024-03-01", NO_FIRST_TEST),),
        facts="exempted 2024-01-05, installed 2024-01-10, included 2024-05-02",
        as_of="2024-05-02",
        standing="untested",
        rows=(
            "test excused 2024-01-05 2024-02-04 on 2024-01-05",
            "test coming 2024-11-11 2025-01-10",
        ),
        words="Nobody asked for a first test: a year from 10 January, opened 60 days before.",
    ),
    Case(
        name="a first test that a rule stopped asking for is owed again when it asks again",
        rule="9",
        book=ALL_BUT_AIR_GAPS,
        turns=(("2024-03-01", {"type": "AG"}), ("2024-06-01", {"type": "RP"})),
        facts="installed 2024-01-10",
        as_of="2024-06-01",
        standing="untested",
        rows=(
            "test excused 2024-01-10 2024-01-20 on 2024-03-01",
            "test open 2024-06-01 2024-07-01",
        ),
        words="1 June + 30 = 1 July.",
    ),
    Case(
        name="one date asked for twice within its time is owed twice in two rows",
        rule="9",
        book=ALL_BUT_AIR_GAPS,
        turns=(("2024-12-01", {"type": "AG"}), ("2024-12-05", {"type": "RP"})),
        facts="passed 2024-01-10",
        as_of="2024-12-20",
        standing="due",
        rows=(
            "test excused 2024-11-11 2025-01-10 on 2024-12-01",
            "test open 2024-12-05 2025-01-10",
        ),
        words="5 Dec + 30 = 4 January, before 10 January.",
    ),
    Case(
        name="a date that an event sets within a hold is held though it closes that day",
        rule="8",
        book=PLAIN,
        facts="held 2025-03-01 until 2025-05-01, installed 2025-03-10, passed 2025-03-10",
        as_of="2025-04-01",
        standing="good",
        rows=(
            "test met 2025-03-01 2025-05-01 on 2025-03-10",
            "test coming 2026-01-09 2026-03-10",
        ),
        words="10 + 10 = 20 March lies within; 10 Mar 2026 - 60: 28 Feb, 31 Jan, 9 Jan.",
    ),
    Case(
        name="a day to cure by within a hold is held though it is cured that day",
        rule="8",
        book=PLAIN,
        facts="passed 2024-01-10, held 2024-12-01 until 2025-02-01, passed 2024-12-05 mended",
        as_of="2024-12-05",
        standing="good",
        rows=(
            "test met 2024-11-11 2025-02-01 cure 2025-02-01 on 2024-12-05",
            "test coming 2025-10-06 2025-12-05",
        ),
        words="10 Jan and 5 + 21 = 26 Dec lie within; 5 Dec - 60: 30 Nov, 31 Oct, 6 Oct.",
    ),
    Case(
        name="a hold begun on the day of a pass moves nothing of what that pass closed",
        rule="8",
        book=PLAIN,
        facts="passed 2024-01-10, passed 2025-01-05, held 2025-01-05 until 2025-03-01",
        as_of="2025-01-05",
        standing="good",
        rows=("test met 2024-11-11 2025-01-10 on 2025-01-05", "test coming 2025-11-06 2026-01-05"),
        words="Of one day the pass comes first; 5 Jan - 60: 31 Dec, 30 Nov, 6 Nov.",
    ),
    Case(
        name="a second pass for a season leaves the extension of the next",
        rule="8",
        book=book(season((11, 1), (2, 28), credit_from=(5, 1))),
        facts="passed 2026-02-20, extended 2026-03-01 until 2027-04-04, passed 2026-03-21",
        as_of="2027-01-01",
        standing="due",
        rows=(
            "test met 2026-02-20 2026-02-28 on 2026-02-20",
            "test open 2026-11-01 2027-04-04",
        ),
        words="Both passes lie in the credit from 1 May 2025 to 30 April 2026.",
    ),
    Case(
        name="two reports of one day that meet one kind of work are one pass",
        rule="10",
        book=book(
            cycle(),
            kinds=[
                {"name": "test", "met_by": ["test", "full test"], "subject": "assembly"},
            ],
        ),
        facts="passed 2024-01-10, passed 2024-12-01, passed 2024-12-01 of full test",
        as_of="2024-12-01",
        standing="good",
        rows=("test met 2024-11-11 2025-01-10 on 2024-12-01", "test coming 2025-10-02 2025-12-01"),
        words="The second meets nothing more; 1 Dec - 60: 30 Nov, 31 Oct, 2 Oct.",
    ),
    Case(
        name="a rulebook in force from the day of an opening decides about it",
        rule="9",
        book=PLAIN,
        books=(("2024-11-11", book(exempt=[{"kind": "test", "who": {}}])),),
        facts="passed 2024-01-10",
        as_of="2024-12-01",
        standing="exempt",
        rows=(),
        words="It would have opened on 11 November, from which day nothing is asked.",
    ),
    Case(
        name="a rulebook that says the same by another name moves no date",
        rule="9",
        book=book(cycle("anniversary", early=45, opens_days=45)),
        books=(("2022-04-01", book(cycle("anniversary", early=45, opens_days=45), cures=[])),),
        facts="installed 2020-05-17, passed 2020-05-17, relocated 2021-05-07",
        as_of="2022-06-01",
        standing="overdue",
        rows=("test met 2020-05-17 2020-05-27 on 2020-05-17", "test open 2021-04-02 2021-05-17"),
        words="Only its other rules differ: owed since 17 May 2021, opened 45 days before.",
    ),
    Case(
        name="a pass before the window leaves the anniversary owed, and a repair keeps it",
        rule="2",
        book=book(cycle("anniversary", early=45, opens_days=60)),
        facts="installed 2024-03-01, passed 2024-03-05, repaired 2025-01-05, passed 2025-01-06",
        as_of="2025-01-06",
        standing="due",
        rows=(
            "test met 2024-03-01 2024-03-11 on 2024-03-05",
            "test met 2024-12-31 2025-03-01 on 2025-01-06",
            "test open 2025-01-06 2025-03-01",
        ),
        words="The window opens 1 Mar - 45 = 15 January: 6 January lies before it.",
    ),
)
