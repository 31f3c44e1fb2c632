"""The run of a day: what is owed is made true, once."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from pypdf import PdfReader

from notices.actions.day import DayTally, run_day
from notices.domain.codes import token_digest
from notices.links import token_of
from notices.models import Delivery, Letter, LetterFile, LetterNotice, Notice
from registry.console import Refused
from registry.models import Program
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)  # a year later: due 2025-12-01


def run(program: Program, day: date, **more: Any) -> DayTally:
    return run_day(program=program, as_of=day, now=more.pop("now", NOW), **more)


def rungs(program: Program) -> list[tuple[str, date | None]]:
    found = Notice.objects.filter(program=program).order_by("recorded_on", "pk")
    return [(notice.rung, notice.left_on) for notice in found]


@pytest.fixture
def program() -> Program:
    return office()


def test_a_backlog_enters_at_the_first_rung_that_may_not_be_skipped(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    tally = run(program, START)
    assert (tally.obligations_opened, tally.notices, tally.letters, tally.skipped) == (1, 1, 1, 2)
    assert rungs(program) == [("first-overdue", START)]


def test_the_letter_is_kept_with_its_bytes_hash_and_address(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, START)
    letter = Letter.objects.get()
    assert letter.state == "left"
    assert letter.address_lines == [
        "Larch Court Apartments",
        "230 Larch Court",
        "Tamarack Flats WA 99171",
    ]
    assert "trial" in letter.left_how.lower()
    assert bytes(letter.file.pdf).startswith(b"%PDF")
    assert Delivery.objects.get(letter=letter).state == "left"


def test_only_the_digest_of_the_links_token_is_stored(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, START)
    letter = Letter.objects.get()
    token = token_of(program_code=program.code, number=letter.number)
    assert letter.token_hash == token_digest(token)
    columns = [str(value) for value in Letter.objects.values_list().get()]
    assert not any(token in value for value in columns)


def test_a_second_run_of_the_day_repeats_nothing(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, START)
    again = run(program, START)
    assert (again.obligations_opened, again.notices, again.letters, again.skipped) == (0, 0, 0, 0)
    assert Letter.objects.count() == LetterFile.objects.count() == 1


def test_a_second_run_acts_on_what_arrived_since(program: Program) -> None:
    place = premises(program, of=owner(program))
    assembly(place, "S1", facts=OVERDUE)
    run(program, START)
    assembly(place, "S2", facts=OVERDUE)
    tally = run(program, START)
    assert (tally.notices, tally.letters) == (1, 1)
    assert Letter.objects.count() == 2


def test_the_ladder_leaves_rung_by_rung_with_its_gaps(program: Program) -> None:
    # Issue date by hand: 5 Jan + 14 = 19 Jan; + 15 = 3 Feb; + 10 = 13 Feb.
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    for offset in range(60):
        run(program, START + timedelta(days=offset))
    assert rungs(program) == [
        ("first-overdue", date(2026, 1, 5)),
        ("second-overdue", date(2026, 1, 19)),
        ("final", date(2026, 2, 3)),
        ("shutoff-order", None),
    ]
    assert Notice.objects.get(rung="shutoff-order").recorded_on == date(2026, 2, 13)


def test_after_a_months_gap_one_rung_leaves_and_the_next_counts_from_it(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, START)
    later = START + timedelta(days=40)
    assert run(program, later).notices == 1
    assert rungs(program)[-1] == ("second-overdue", later)
    assert run(program, later + timedelta(days=14)).notices == 0
    assert run(program, later + timedelta(days=15)).notices == 1


def test_reminders_leave_45_and_15_days_before(program: Program) -> None:
    # Passed 2025-03-01, due 2026-03-01: 15 January and 14 February.
    assembly(premises(program, of=owner(program)), facts=(("passed", date(2025, 3, 1)),))
    for offset in range(50):
        run(program, START + timedelta(days=offset))
    assert rungs(program) == [
        ("reminder", date(2026, 1, 15)),
        ("second-reminder", date(2026, 2, 14)),
    ]


def test_one_letter_for_an_owner_and_a_kind_one_more_for_another_kind(program: Program) -> None:
    larch = owner(program)
    for number in (230, 231):
        place = premises(program, number, of=larch)
        assembly(place, f"A{number}", facts=OVERDUE)
    assembly(place, "B", facts=(("passed", date(2025, 2, 1)),))  # due 2026-02-01: a reminder
    tally = run(program, START)
    assert (tally.notices, tally.letters) == (3, 2)
    assert sorted(Letter.objects.values_list("kind", flat=True)) == ["first-overdue", "reminder"]


def test_premises_without_a_party_get_a_letter_to_owner_or_occupant(program: Program) -> None:
    assembly(premises(program, of=None), facts=OVERDUE)
    run(program, START)
    assert Letter.objects.get().address_lines[0] == "Owner or occupant"


def test_a_letter_without_a_full_address_waits_for_a_person(program: Program) -> None:
    assembly(premises(program, of=owner(program, city="", zip="")), facts=OVERDUE)
    tally = run(program, START)
    letter = Letter.objects.get()
    assert (letter.state, tally.waiting_for_release) == ("composed", 1)
    assert len(letter.flags) == 2
    assert rungs(program) == [("first-overdue", None)]


def test_a_letter_with_a_sign_no_typeface_draws_is_told_before_it_is_printed(
    program: Program,
) -> None:
    assembly(premises(program, of=owner(program, name="\u540d\u524d Larch")), facts=OVERDUE)
    tally = run(program, START)
    letter = Letter.objects.get()
    assert (letter.state, tally.waiting_for_release) == ("composed", 1)
    (flag,) = letter.flags
    assert "No typeface here draws" in flag
    assert "\u540d" in flag
    assert not Delivery.objects.filter(letter=letter, left_on__isnull=False).exists()


# --- days that are refused, trial and live ------------------------------------------


def test_a_day_before_the_last_run_is_refused(program: Program) -> None:
    run(program, START + timedelta(days=3))
    with pytest.raises(Refused, match="lies before it"):
        run(program, START)


def test_a_day_before_the_load_is_refused(program: Program) -> None:
    with pytest.raises(Refused, match="first loaded"):
        run(program, START - timedelta(days=1))


def test_a_day_to_come_is_refused_but_for_a_trial() -> None:
    live = office(is_trial=False, go_live_on=START)
    with pytest.raises(Refused, match="has not come yet"):
        run(live, START + timedelta(days=1), now=datetime(2026, 1, 6, 7, tzinfo=UTC))
    # 8 UTC on January 6 is midnight in the program's zone: the day has come.
    run(live, START + timedelta(days=1), now=datetime(2026, 1, 6, 8, tzinfo=UTC))
    run(office("trial"), START + timedelta(days=900), now=datetime(2026, 1, 6, 7, tzinfo=UTC))


def test_nothing_leaves_before_the_go_live_day() -> None:
    live = office(is_trial=False)
    assembly(premises(live, of=owner(live)), facts=OVERDUE)
    tally = run(live, START)
    assert (tally.obligations_opened, tally.notices, tally.letters) == (1, 0, 0)
    Program.objects.filter(pk=live.pk).update(go_live_on=START + timedelta(days=2))
    live.refresh_from_db()
    assert run(live, START + timedelta(days=1)).letters == 0
    tally = run(live, START + timedelta(days=2))
    assert (tally.obligations_opened, tally.letters) == (0, 1)
    letter = Letter.objects.get()
    assert (letter.state, letter.left_on) == ("leaving", None)
    assert [(way.channel, way.state) for way in letter.deliveries.all()] == [("mail", "waiting")]


def test_a_trial_leaves_on_its_own_day_and_records_that_day(program: Program) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run(program, START)
    letter = Letter.objects.get()
    assert letter.left_on == letter.composed_on == START
    assert letter.left_at is not None
    assert letter.left_at.date() == START


# --- the most letters a day ------------------------------------------------------------


def test_the_quota_lets_the_gravest_go_and_the_rest_is_owed_again() -> None:
    program = office(letters_a_day=2)
    cases = {
        "longest": ("low", (("passed", date(2023, 1, 1)),)),
        "high": ("high", OVERDUE),
        "failed high": ("high", (("passed", date(2025, 9, 1)), ("failed", START))),
        "later": ("low", OVERDUE),
    }
    for number, (serial, (hazard, facts)) in enumerate(cases.items()):
        place = premises(program, number, of=owner(program, serial))
        assembly(place, serial, hazard=hazard, facts=facts)

    def went(day: date) -> list[str]:
        carried = LetterNotice.objects.filter(letter__composed_on=day).order_by("letter_id")
        return [str(link.notice.assembly.serial) for link in carried if link.notice.assembly]

    tally = run(program, START)
    assert went(START) == ["failed high", "high"]
    assert (tally.notices, tally.waiting_for_quota) == (2, 2)
    assert Notice.objects.count() == 2
    assert run(program, START).letters == 0  # a second run of the day has no quota of its own
    tally = run(program, START + timedelta(days=1))
    assert went(START + timedelta(days=1)) == ["longest", "later"]
    assert tally.waiting_for_quota == 0


# --- the command --------------------------------------------------------------------------


def answer(*arguments: str) -> tuple[int, Any]:
    said, code = StringIO(), 0
    try:
        call_command("run_day", *arguments, "--json", stdout=said, stderr=StringIO())
    except SystemExit as ended:
        code = int(str(ended.code))
    return code, json.loads(said.getvalue())


def test_the_command_answers_in_json_and_writes_the_pdfs(program: Program, out: Path) -> None:
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    code, said = answer("--program", "flats", "--as-of", "2026-01-05", "--out", str(out))
    assert code == 0
    assert said == {
        "program": "flats",
        "as_of": "2026-01-05",
        "obligations_opened": 1,
        "notices": 1,
        "letters": 1,
        "withdrawn": 0,
        "waiting_for_release": 0,
        "waiting_for_quota": 0,
        "skipped": 2,
    }
    (path,) = out.iterdir()
    assert path.read_bytes() == bytes(LetterFile.objects.get().pdf)
    assert "230 Larch Court" in PdfReader(path).pages[0].extract_text()


@pytest.mark.parametrize(
    "arguments",
    [("--program", "nobody"), ("--program", "flats", "--as-of", "2025-12-31")],
)
def test_a_refusal_is_exit_2_with_a_sentence(program: Program, arguments: tuple[str, ...]) -> None:
    code, said = answer(*arguments)
    assert code == 2
    assert set(said) == {"error"}


def test_one_programs_refusal_does_not_stop_the_rest(program: Program) -> None:
    run(program, START + timedelta(days=9))
    other = office("other")
    assembly(premises(other, of=owner(other)), facts=OVERDUE)
    code, said = answer("--program", "all", "--as-of", "2026-01-06")
    assert code == 1
    assert [entry["program"] for entry in said] == ["flats", "other"]
    assert said[0]["error"]
    assert said[0]["letters"] is None
    assert said[1]["letters"] == 1
