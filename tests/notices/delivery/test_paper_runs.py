"""Paper runs: fronts, groups, hashes, certified numbers; only a person's word starts the clock."""

from __future__ import annotations

import csv
import hashlib
from datetime import timedelta
from io import BytesIO, StringIO

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from pypdf import PdfReader

from notices.actions.clocks import Day
from notices.actions.day import run_day
from notices.delivery.certified_numbers import keep_numbers, typed_numbers
from notices.delivery.paper_runs import (
    left_by_hand,
    mail_run,
    make_run,
    spoiled,
)
from notices.delivery.run_files import listed, part_pdf, run_csv, run_pdf
from notices.models import Delivery, DeliveryTry, Letter, Notice, PaperRun
from registry.changes import Hand
from registry.console import Refused
from registry.models import Change, Membership, Program
from scheduling.models import Obligation
from tests.notices.delivery.posts import NOON, OVERDUE
from tests.notices.offices import START, assembly, happened, office, owner, premises

pytestmark = [pytest.mark.django_db, pytest.mark.database]

HAND = Hand(by="Ada Birch", at=NOON)


def day(program: Program, later: int = 0) -> Day:
    return Day(program=program, on=START + timedelta(days=later), at=NOON)


def live(**changes: object) -> Program:
    values = {"is_trial": False, "go_live_on": START} | changes
    return office(**values)  # type: ignore[arg-type]


def run_of(program: Program, *, owners: int = 3, big: int = 0) -> PaperRun:
    """A run of letters to so many owners; the owner `big` has 40 assemblies, over pages."""
    for number in range(1, owners + 1):
        party = owner(program, f"=Owner {number} & <Co>", address=f"{number} Elm Street")
        for count in range(40 if number == big else 1):
            place = premises(program, number * 100 + count, of=party)
            assembly(place, f"S{number}-{count}", facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOON)
    return make_run(program=program, channel="mail", day=day(program), hand=HAND)


def test_each_letter_starts_on_a_front_and_none_ends_with_a_blank() -> None:
    program = live()
    run = run_of(program, owners=3, big=2)
    letters = listed(run)
    assert [one.pages for one in letters] == sorted(one.pages for one in letters)
    assert letters[-1].pages > 2
    pages = [page.extract_text() for page in PdfReader(BytesIO(run_pdf(run))).pages]
    starts = [
        next(at for at, text in enumerate(pages) if one.number in text and at > 0)
        for one in letters
    ]
    assert all(start % 2 == 0 for start in starts)  # page 1 is a front
    assert pages[-1].strip()
    assert pages[1].strip() == ""  # the back of the cover sheet
    sheets = -(-len(pages) // 2)
    assert sheets == run.sheets + 1
    assert run.letters == 3


def test_the_cover_counts_what_is_in_the_run_and_names_its_hash() -> None:
    run = run_of(live())
    cover = PdfReader(BytesIO(run_pdf(run))).pages[0].extract_text().replace("\n", "")
    text = "".join(f"{one.place} {one.number} {one.sha256}\n" for one in listed(run))
    assert hashlib.sha256(text.encode()).hexdigest() in cover.replace(" ", "")
    assert "Paper run 1" in cover
    assert "1 to 3" in cover


def test_a_run_is_made_again_to_the_same_bytes() -> None:
    run = run_of(live())
    assert run_pdf(run) == run_pdf(PaperRun.objects.get())


def test_the_pages_of_a_run_are_those_of_the_kept_letters() -> None:
    run = run_of(live())
    made = PdfReader(BytesIO(run_pdf(run)))
    for place, one in enumerate(listed(run)):
        kept = PdfReader(BytesIO(bytes(Letter.objects.get(pk=one.letter_id).file.pdf)))
        first = made.pages[2 + 2 * place]
        assert first.get_contents().get_data() == kept.pages[0].get_contents().get_data()  # type: ignore[union-attr]


def test_the_list_for_a_mail_house_runs_no_formula_and_counts_every_letter() -> None:
    run = run_of(live())
    rows = list(csv.DictReader(StringIO(run_csv(run))))
    assert [row["place"] for row in rows] == ["1", "2", "3"]
    assert all(row["name"].startswith("'=Owner") for row in rows)
    assert {row["sha256"] for row in rows} == {one.file.sha256 for one in Letter.objects.all()}


def test_only_mailed_on_starts_the_clock() -> None:
    program = live()
    run = run_of(program)
    run_pdf(run)
    assert set(Letter.objects.values_list("state", flat=True)) == {"leaving"}
    assert not Notice.objects.filter(left_on__isnull=False).exists()
    later = START + timedelta(days=2)
    left = mail_run(run, on=later, day=day(program, 3), hand=HAND)
    assert len(left) == 3
    assert set(Letter.objects.values_list("state", "left_on")) == {("left", later)}
    assert set(Notice.objects.values_list("left_on", flat=True)) == {later}
    # The next rung counts from the day it was mailed: 14 days after that day.
    assert set(Obligation.objects.values_list("next_action_on", flat=True)) == {
        later + timedelta(days=14)
    }
    with pytest.raises(Refused, match="mailed before"):
        mail_run(run, on=later, day=day(program, 3), hand=HAND)


@pytest.mark.parametrize("offset", [-1, 5])
def test_a_run_is_mailed_between_its_making_and_today(offset: int) -> None:
    program = live()
    run = run_of(program, owners=1)
    with pytest.raises(Refused, match="to today"):
        mail_run(run, on=START + timedelta(days=offset), day=day(program, 4), hand=HAND)


def test_a_letter_that_fell_away_is_named_and_does_not_leave() -> None:
    program = live()
    run = run_of(program)
    one = Notice.objects.order_by("pk")[0].assembly
    assert one is not None
    happened(one, (("passed", START),), as_of=START)
    with pytest.raises(Refused, match="1 of its letters fell away"):
        mail_run(run, on=START, day=day(program), hand=HAND)
    assert PaperRun.objects.get().mailed_on is None
    assert len(mail_run(run, on=START, day=day(program), hand=HAND)) == 2
    gone = Delivery.objects.get(letter__state="withdrawn")
    assert (gone.state, gone.run) == ("withdrawn", run)


def test_a_letter_that_went_all_the_same_is_kept_as_such() -> None:
    program = live()
    run = run_of(program)
    one = Notice.objects.order_by("pk")[0].assembly
    assert one is not None
    happened(one, (("passed", START),), as_of=START)
    with pytest.raises(Refused):
        mail_run(run, on=START, day=day(program), hand=HAND)
    gone = Delivery.objects.get(state="withdrawn")
    mail_run(run, on=START, day=day(program), hand=HAND, also=[gone.pk])
    gone.refresh_from_db()
    assert (gone.state, gone.left_on) == ("left", START)
    assert gone.letter.state == "withdrawn"


def test_spoiled_letters_are_printed_again_from_the_same_bytes_without_a_notice() -> None:
    program = live()
    run = run_of(program, owners=5)
    notices, letters = Notice.objects.count(), listed(run)
    spoiled(run, first=2, last=4, hand=Hand(by="Ada Birch", at=NOON, reason="paper jam"))
    again = PdfReader(BytesIO(part_pdf(run, first=2, last=4)))
    texts = [page.extract_text() for page in again.pages if page.extract_text().strip()]
    assert len(texts) == 3
    assert all(one.number in text for one, text in zip(letters[1:4], texts, strict=True))
    assert Notice.objects.count() == notices
    assert DeliveryTry.objects.filter(outcome="printed again").count() == 3
    assert Change.objects.filter(what="paper run").get().after == {"printed_again": "2 to 4"}
    with pytest.raises(Refused, match="letters 1 to 5"):
        spoiled(run, first=4, last=9, hand=HAND)


def test_certified_numbers_are_kept_once_each() -> None:
    run = run_of(live())
    done = keep_numbers(
        run,
        lines=typed_numbers(
            "9407300000000001\n2, 9407300000000001\n9407300000000003\n9, 1234567890"
        ),
        hand=HAND,
    )
    assert done.kept == 2
    assert [row for row, _ in done.faults] == [2, 4]
    assert [one.tracking for one in listed(run)] == ["9407300000000001", "", "9407300000000003"]
    assert Letter.objects.exclude(tracking="").count() == 2


def test_two_clerks_make_two_runs_and_no_letter_is_in_both() -> None:
    program = live()
    run_of(program)
    with pytest.raises(Refused, match="No letter waits"):
        make_run(program=program, channel="mail", day=day(program), hand=HAND)
    assert Delivery.objects.filter(run__isnull=False).count() == 3


def test_a_letter_handed_over_leaves_without_a_run() -> None:
    program = live()
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOON)
    row = Delivery.objects.select_related("letter").get()
    hand = Hand(by="Ada Birch", at=NOON, reason="To the owner at the counter.")
    left_by_hand(row, on=START, tracking="", day=day(program), hand=hand)
    row.refresh_from_db()
    assert (row.state, row.detail) == ("left", "By Ada Birch. To the owner at the counter.")
    assert Letter.objects.get().state == "left"


def test_a_trial_shows_its_run_and_mails_nothing() -> None:
    program = office()
    run = run_of(program)
    assert run.letters == 3
    with pytest.raises(Refused, match="reach nobody"):
        mail_run(run, on=START, day=day(program), hand=HAND)


@pytest.fixture
def clerk(db: None) -> Client:
    program = live()
    user = get_user_model().objects.create_user(username="ada", password="x")
    Membership.objects.create(user=user, role="clerk", program=program)
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_the_pages_make_print_mail_and_reprint_a_run(clerk: Client) -> None:
    program = Program.objects.get()
    assembly(premises(program, of=owner(program)), facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOON)
    assert "1&nbsp;letter" in clerk.get("/p/flats/paper/").content.decode().replace(
        "\xa0", "&nbsp;"
    )
    made = clerk.post("/p/flats/paper/make/", {"channel": "mail"})
    where = made.headers["Location"]
    assert clerk.get(f"{where}run.pdf")["Content-Type"] == "application/pdf"
    assert clerk.get(f"{where}run.csv").content.startswith(b"place,letter")
    on = PaperRun.objects.get().made_on.isoformat()
    clerk.post(f"{where}mailed/", {"on": on})
    assert Letter.objects.get().state == "left"
    assert "Mailed" in clerk.get(where).content.decode()
    again = clerk.post(f"{where}spoiled/", {"first": "1", "last": "1", "why": "jam"})
    assert again.headers["Location"].endswith("?first=1&last=1")
    page = clerk.get(f"/p/flats/letters/{Letter.objects.get().pk}/").content.decode()
    assert "printed again" in page
