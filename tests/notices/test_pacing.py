"""Holds, quiet days, gathering, an order of the office's own: what leaves when, once each."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from notices.actions.day import DayTally, run_day
from notices.actions.pacing import (
    drop_quiet,
    end_hold,
    gather_monthly,
    hold_all_letters,
    keep_quiet,
    move_group,
    take_move_back,
)
from notices.actions.releasing import release_kind
from notices.delivery.paper_runs import make_run
from notices.domain.pacing import MoveBy
from notices.models import Delivery, Letter, LetterHold, Notice
from notices.queries.held_deadlines import held_deadlines
from notices.queries.letter_day import letter_day
from notices.queries.pacing import letter_hold
from notices.queries.samples import SAMPLE, sample_of
from notices.queries.waiting import waiting_letters
from registry.changes import Hand
from registry.console import Refused
from registry.models import Change, Program
from reports.queries.today import needs_of
from tests.notices.delivery.posts import NOON, Sink, mail_server, mailing_office, send
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
OVERDUE = (("passed", date(2024, 12, 1)),)
HAND = Hand(by="Iva Brandt", at=NOW, reason="The press is broken.")
DAY = timedelta(days=1)


def run(program: Program, on: date) -> DayTally:
    program.refresh_from_db()
    return run_day(program=program, as_of=on, now=NOW)


def hold(program: Program, *, days: int, on: date = START) -> LetterHold:
    return hold_all_letters(program=program, until=on + (days - 1) * DAY, today=on, hand=HAND)


def overdue(program: Program, number: int, **changes: Any) -> Any:
    place = premises(program, number, of=owner(program, f"Owner {number}"))
    return assembly(place, f"S{number}", facts=OVERDUE, **changes)


# --- all letters held --------------------------------------------------------------------


def test_while_all_letters_are_held_nothing_is_composed_and_then_all_of_it_once() -> None:
    program = office()
    one = overdue(program, 1)
    hold(program, days=3)
    for offset in range(3):
        assert run(program, START + offset * DAY).letters == 0
    said = letter_day(assembly=one, day=START + DAY).said
    assert said.endswith("all letters were held.")
    assert not Notice.objects.exists()
    assert run(program, START + 3 * DAY).letters == 1
    assert run(program, START + 3 * DAY).letters == 0
    assert Letter.objects.get().left_on == START + 3 * DAY
    (past,) = LetterHold.objects.all()
    assert (past.ended_on, past.ended_by) == (START + 3 * DAY, "the day that came")


def test_a_hold_ended_by_a_person_lets_the_same_day_go_on() -> None:
    program = office()
    overdue(program, 1)
    hold(program, days=30)
    assert run(program, START).letters == 0
    end_hold(program=program, today=START, hand=HAND)
    assert run(program, START).letters == 1
    with pytest.raises(Refused, match="No letters are held"):
        end_hold(program=program, today=START, hand=HAND)
    assert Change.objects.filter(what="letter hold").count() == 2


@pytest.mark.parametrize(
    ("until", "reason", "words"),
    [
        (START - DAY, "why", "Letters are held up to"),
        (START + 400 * DAY, "why", "Letters are held up to"),
        (START, " ", "Say why"),
    ],
)
def test_a_hold_has_an_end_and_a_reason(until: date, reason: str, words: str) -> None:
    program = office()
    with pytest.raises(Refused, match=words):
        hold_all_letters(
            program=program, until=until, today=START, hand=Hand(by="x", at=NOW, reason=reason)
        )
    assert letter_hold(program, on=START) is None


def test_there_is_one_hold_at_a_time_and_an_old_one_is_no_hindrance() -> None:
    program = office()
    hold(program, days=2)
    with pytest.raises(Refused, match="held already"):
        hold(program, days=9)
    hold(program, days=2, on=START + 5 * DAY)  # the first has ended by itself
    assert LetterHold.objects.filter(ended_on__isnull=True).count() == 1


def test_today_tells_what_the_law_asks_for_meanwhile() -> None:
    program = office()
    overdue(program, 1)
    run(program, START - 0 * DAY)
    kept = hold(program, days=20)
    found = held_deadlines(program, hold=kept)
    assert (found.waiting, found.lawful) == (1, 1)  # the second overdue notice, 14 days on
    (line,) = [need for need in needs_of(program, today=START) if need.page == "letters-pace"]
    assert "1 are steps a law asks for" in line.detail
    assert "January 24, 2026" in line.detail  # START is January 5: its twentieth day


# --- quiet days --------------------------------------------------------------------------


def test_on_a_quiet_day_what_is_owed_is_recorded_and_leaves_on_the_next_open_one() -> None:
    program = office()
    overdue(program, 1)
    keep_quiet(program=program, first=START, last=START + DAY, why="Founders' days", hand=HAND)
    tally = run(program, START)
    assert (tally.notices + Notice.objects.count(), tally.letters) == (2, 1)
    letter = Letter.objects.get()
    assert (letter.state, letter.left_on) == ("composed", None)
    assert letter.mailing_on == START + 2 * DAY  # its deadlines count from that day
    run(program, START + DAY)
    assert Letter.objects.get().left_on is None
    run(program, START + 2 * DAY)
    letter.refresh_from_db()
    assert (letter.state, letter.left_on) == ("left", START + 2 * DAY)
    assert Letter.objects.count() == 1


def test_quiet_days_taken_away_keep_nothing_in() -> None:
    program = office()
    overdue(program, 1)
    made = keep_quiet(program=program, first=START, last=START, why="a mistake", hand=HAND)
    again = keep_quiet(program=program, first=START, last=START, why="twice", hand=HAND)
    assert made.pk == again.pk
    drop_quiet(program=program, pk=made.pk, hand=HAND)
    with pytest.raises(Refused, match="taken away before"):
        drop_quiet(program=program, pk=made.pk, hand=HAND)
    run(program, START)
    assert Letter.objects.get().left_on == START


def test_e_mail_waits_on_a_quiet_day_and_goes_on_the_next() -> None:
    program = mailing_office()
    place = premises(program, of=owner(program, email="larch@example.net"))
    assembly(place, facts=OVERDUE)
    sink = Sink()
    with mail_server(sink):
        run(program, START)
        quiet = keep_quiet(program=program, first=START, last=START, why="quiet", hand=HAND)
        sent = send(program, at=NOON)
        assert (sent.taken, sink.taken) == (0, [])
        assert quiet.why in sent.kept_in
        sent = send(program, at=NOON + DAY)
        assert (sent.taken, sent.kept_in) == (1, "")
    assert Delivery.objects.get(channel="e-mail").state == "left"


def test_no_paper_run_is_made_while_all_letters_are_held() -> None:
    from notices.actions.clocks import Day

    program = office(is_trial=False, go_live_on=START)
    overdue(program, 1)
    run(program, START)
    hold(program, days=3)
    with pytest.raises(Refused, match="All letters are held"):
        make_run(
            program=program, channel="mail", day=Day(program=program, on=START, at=NOW), hand=HAND
        )


# --- gathering ---------------------------------------------------------------------------


def test_reminders_are_gathered_and_lawful_letters_are_not() -> None:
    program = office()
    who = owner(program)
    gather_monthly(party=who, day_of_month=20, hand=HAND)
    due_soon = START + 60 * DAY  # a reminder is owed at once, the test on March 6
    for number in range(3):
        place = premises(program, number, of=who)
        assembly(place, f"S{number}", facts=(("passed", due_soon.replace(year=2025)),))
    assembly(premises(program, 9, of=who), "S9", facts=OVERDUE)
    run(program, START)
    assert [letter.kind for letter in Letter.objects.all()] == ["first-overdue"]
    for offset in range(1, 15):
        run(program, START + offset * DAY)
    assert not Letter.objects.filter(kind="reminder").exists()
    run(program, date(2026, 1, 20))
    (reminder,) = Letter.objects.filter(kind="reminder")
    assert reminder.left_on == date(2026, 1, 20) < due_soon
    assert reminder.carried.count() == 3


def test_a_reminder_that_cannot_wait_leaves_on_its_own_day() -> None:
    program = office()
    who = owner(program)
    due = date(2026, 1, 19)  # before the 20th
    gather_monthly(party=who, day_of_month=20, hand=HAND)
    assembly(premises(program, of=who), facts=(("passed", date(2025, 1, 19)),))
    run(program, START)
    assert Letter.objects.get().left_on == START < due


def test_a_pass_while_it_is_gathered_takes_the_reminder_away() -> None:
    from tests.notices.offices import happened

    program = office()
    who = owner(program)
    gather_monthly(party=who, day_of_month=20, hand=HAND)
    one = assembly(premises(program, of=who), facts=(("passed", date(2025, 3, 6)),))
    run(program, START)
    happened(one, (("passed", START + DAY),), as_of=START + DAY)
    for offset in range(1, 20):
        run(program, START + offset * DAY)
    assert not Letter.objects.exists()


@pytest.mark.parametrize("day", [0, 29])
def test_gathering_takes_a_day_that_every_month_has(day: int) -> None:
    program = office()
    with pytest.raises(Refused, match="1 to 28"):
        gather_monthly(party=owner(program), day_of_month=day, hand=HAND)


# --- the order ---------------------------------------------------------------------------


def many(program: Program) -> None:
    """Two high and three low, the low ones longest overdue."""
    for number, hazard in enumerate(("high", "high", "low", "low", "low")):
        overdue(program, number, hazard=hazard)


def test_what_waits_is_seen_in_its_order_with_the_day_it_is_through() -> None:
    program = office(letters_a_day=2)
    many(program)
    run(program, START)  # two go
    said = waiting_letters(program, today=START, now=NOW)
    assert (said.letters, said.left_today) == (3, 0)
    assert [line.on for line in said.lines] == [START + DAY, START + DAY, START + 2 * DAY]
    assert said.through == START + 2 * DAY
    for offset in (1, 2):
        run(program, START + offset * DAY)
    assert Letter.objects.latest("pk").left_on == said.through
    assert waiting_letters(program, today=START + 2 * DAY, now=NOW).letters == 0


def test_a_group_moved_forward_goes_first_and_nobody_skips_a_step() -> None:
    program = office(letters_a_day=1)
    many(program)
    with pytest.raises(Refused, match="Say why"):
        move_group(
            program=program, group=MoveBy.HAZARD, value="low", is_forward=True,
            hand=Hand(by="x", at=NOW),
        )  # fmt: skip
    made = move_group(program=program, group=MoveBy.PREMISES, value="3 Larch Court",
                      is_forward=True, hand=HAND)  # fmt: skip
    run(program, START)
    assert Letter.objects.get().address_lines[0] == "Owner 3"
    take_move_back(program=program, pk=made.pk, hand=HAND)
    move_group(program=program, group=MoveBy.HAZARD, value="HIGH", is_forward=False, hand=HAND)
    order = ["Owner 3"]
    for offset in range(1, 5):
        run(program, START + offset * DAY)
        order.append(Letter.objects.order_by("-pk")[0].address_lines[0])
    assert order == ["Owner 3", "Owner 2", "Owner 4", "Owner 0", "Owner 1"]
    assert set(Letter.objects.values_list("kind", flat=True)) == {"first-overdue"}


def test_a_program_that_is_not_live_shows_the_order_and_no_day() -> None:
    program = office(is_trial=False, letters_a_day=2)
    many(program)
    run(program, START)
    said = waiting_letters(program, today=START, now=NOW)
    assert (said.letters, said.begins_on, said.through) == (5, None, None)


# --- a whole kind after a sample -----------------------------------------------------------


def waiting_for_release(program: Program, count: int) -> None:
    for number in range(count):
        overdue(program, number)
    run(program, START)
    Letter.objects.update(state="composed", left_on=None, needs_release=True)
    Delivery.objects.all().delete()
    Notice.objects.update(left_on=None)


def test_a_kind_is_released_only_after_all_of_its_sample_was_looked_at() -> None:
    program = office()
    waiting_for_release(program, 8)
    Letter.objects.filter(pk=Letter.objects.earliest("pk").pk).update(flags=["The address is odd."])
    sample = sample_of(program, kind="first-overdue")
    assert (sample.count, sample.apart, len(sample.letters)) == (7, 1, SAMPLE)
    seen = {one.letter.pk for one in sample.letters}
    wanted: dict[str, Any] = {"program": program, "kind": "first-overdue", "newest": sample.newest,
              "hand": HAND, "today": START}  # fmt: skip
    with pytest.raises(Refused, match="Look at"):
        release_kind(seen=set(list(seen)[1:]), **wanted)
    assert not Letter.objects.exclude(state="composed").exists()
    done = release_kind(seen=seen, **wanted)
    assert len(done.released) == 7
    assert Letter.objects.get(state="composed").flags
    assert Change.objects.get(what="release of a kind").after["looked_at"]
    with pytest.raises(Refused, match="waits any more"):
        release_kind(seen=seen, **wanted)
