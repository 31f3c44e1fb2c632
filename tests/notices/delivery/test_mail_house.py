"""A mail house gets a run's pages and list, and sends the list back with its certified numbers."""

from __future__ import annotations

import csv
from datetime import timedelta
from io import BytesIO, StringIO

import pytest
import xlsxwriter
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pypdf import PdfReader

from notices.actions.day import run_day
from notices.actions.returned import enter_returned
from notices.delivery.certified_numbers import keep_numbers, typed_numbers
from notices.delivery.paper_runs import mail_run, make_run, spoiled
from notices.delivery.run_files import list_digest, listed, part_pdf, run_csv, run_pdf
from notices.domain.returns import CameBack
from notices.models import Delivery, DeliveryTry, Letter, LetterFile, Notice, PaperRun
from registry.models import Program
from tests.notices.delivery.posts import NOON, OVERDUE, by_mail
from tests.notices.delivery.test_paper_runs import HAND, clerk, day, live, run_of
from tests.notices.offices import START, assembly, owner, premises

__all__ = ["clerk"]  # a fixture

pytestmark = [pytest.mark.django_db, pytest.mark.database]

# Invented, with right check digits (tests/domain/notices/test_paper_runs.py).
NUMBERS = ("9407300000000000000003", "9407300000000000000010")


def rows_of(run: PaperRun) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(run_csv(run))))


def written(rows: list[dict[str, str]]) -> bytes:
    stream = StringIO()
    writer = csv.DictWriter(stream, rows[0])
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue().encode()


def certified_run() -> PaperRun:
    """A run of three letters by certified mail, in the office of the fixture `clerk`."""
    program = Program.objects.get()
    by_mail("first-overdue", also_by=("certified",))
    for number in (1, 2, 3):
        party = owner(program, f"Owner {number}", address=f"{number} Elm Street")
        assembly(premises(program, number, of=party), f"S{number}", facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOON)
    return make_run(program=program, channel="certified", day=day(program), hand=HAND)


def test_the_list_says_which_pages_of_the_runs_pdf_each_letter_is() -> None:
    run = run_of(live(), owners=3, big=2)
    pages = [page.extract_text() for page in PdfReader(BytesIO(run_pdf(run))).pages]
    rows = rows_of(run)
    assert int(rows[-1]["pages"]) > 2
    assert rows[0]["first page"] == "3"  # the cover and its blank back come first
    for row in rows:
        first, last = int(row["first page"]), int(row["last page"])
        assert last - first + 1 == int(row["pages"])
        assert all(row["letter"] in pages[at - 1] for at in range(first, last + 1))
    assert int(rows[-1]["last page"]) == len(pages)


def test_pages_after_a_letter_whose_person_was_erased_are_counted_without_it() -> None:
    run = run_of(live())
    gone = listed(run)[1]
    LetterFile.objects.filter(pk=gone.letter_id).update(pdf=b"")
    spans = [(row["first page"], row["last page"]) for row in rows_of(run)]
    assert spans == [("3", "3"), ("", ""), ("5", "5")]
    pages = PdfReader(BytesIO(run_pdf(run))).pages
    assert rows_of(run)[2]["letter"] in pages[4].extract_text()


def test_no_line_of_a_long_address_is_lost() -> None:
    run = run_of(live(), owners=1)
    lines = [
        "Larch Court",
        "Attn. Bookkeeping",
        "Tower B",
        "Suite 9",
        "1 Elm St",
        "Flats, WA 99171",
    ]
    Letter.objects.update(address_lines=lines)
    (row,) = rows_of(run)
    assert [row["name"], row["address 3"]] == ["Larch Court", "Suite 9"]
    assert row["address 4"] == "1 Elm St, Flats, WA 99171"


def test_the_cover_says_until_when_it_should_be_mailed() -> None:
    program = live()
    run = run_of(program)
    assert "Mail by" in (cover := PdfReader(BytesIO(run_pdf(run))).pages[0].extract_text())
    assert "January 5, 2026" in cover.replace("\u00a0", " ")
    Letter.objects.update(mailing_on=START - timedelta(days=2))
    cover = PdfReader(BytesIO(run_pdf(run))).pages[0].extract_text().replace("\u00a0", " ")
    assert "at once: some letters count from January 3, 2026" in " ".join(cover.split())


def test_the_list_sent_back_as_csv_or_pasted_gives_each_letter_its_number(clerk: Client) -> None:
    run = certified_run()
    rows = rows_of(run)
    rows[0]["certified number"], rows[2]["certified number"] = NUMBERS
    rows.reverse()  # in whatever order the mail house keeps it
    file = SimpleUploadedFile("back.csv", b"\xef\xbb\xbf" + written(rows).replace(b",", b";"))
    page = clerk.post(f"/p/flats/paper/{run.pk}/numbers/", {"list": file}, follow=True)
    assert "2 numbers are kept." in page.content.decode()
    assert [one.tracking for one in listed(run)] == [NUMBERS[0], "", NUMBERS[1]]
    assert Letter.objects.exclude(tracking="").count() == 2
    rows[1]["certified number"] = "9407300000000000000027"
    again = {"numbers": written(rows).decode()}
    page = clerk.post(f"/p/flats/paper/{run.pk}/numbers/", again, follow=True)
    assert listed(run)[1].tracking == "9407300000000000000027"
    assert [one.tracking for one in listed(run)][::2] == list(NUMBERS)


def test_the_list_sent_back_as_a_workbook_tells_figures_a_spreadsheet_rounded(
    clerk: Client,
) -> None:
    run = certified_run()
    stream = BytesIO()
    with xlsxwriter.Workbook(stream) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["letter", "certified number"])
        for at, one in enumerate(listed(run), 1):
            sheet.write_string(at, 0, one.number)
        sheet.write_string(1, 1, NUMBERS[0])
        sheet.write_number(2, 1, float(NUMBERS[1]))
    file = SimpleUploadedFile("back.xlsx", stream.getvalue())
    page = clerk.post(f"/p/flats/paper/{run.pk}/numbers/", {"list": file}, follow=True)
    told = page.content.decode()
    assert "1 number is kept." in told
    assert "rounded" in told
    assert [one.tracking for one in listed(run)] == [NUMBERS[0], "", ""]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"name;zip\r\nA;9\r\n", "has no column “certified number”"),
        (b"%PDF-1.7", "is no spreadsheet"),
        (b"\r\n", "is empty"),
        (b"letter,certified number\r\n26-0105-9999,9407300000000000000003\r\n", "no such letter"),
    ],
)
def test_a_file_that_is_no_such_list_changes_nothing_and_says_what_to_do(
    clerk: Client, data: bytes, told: str
) -> None:
    run = certified_run()
    file = SimpleUploadedFile("back.csv", data)
    page = clerk.post(f"/p/flats/paper/{run.pk}/numbers/", {"list": file}, follow=True)
    assert told in page.content.decode()
    assert not Delivery.objects.exclude(tracking="").exists()


def test_a_number_with_a_wrong_figure_is_kept_and_told(clerk: Client) -> None:
    run = certified_run()
    typed = "420991719407300000000000000003\n9407300000000000000011"
    page = clerk.post(f"/p/flats/paper/{run.pk}/numbers/", {"numbers": typed}, follow=True)
    told = page.content.decode()
    assert "2 numbers are kept." in told
    assert "Line 2: 9407300000000000000011 is kept, but its last figure" in told
    assert "Line 1:" not in told
    assert [one.tracking for one in listed(run)][:2] == [NUMBERS[0], "9407300000000000000011"]


def test_a_label_that_comes_back_is_known_by_what_a_scanner_reads_of_it(clerk: Client) -> None:
    run = certified_run()
    clerk.post(f"/p/flats/paper/{run.pk}/numbers/", {"numbers": NUMBERS[0]})
    mail_run(run, on=START, day=day(run.program), hand=HAND)
    done = enter_returned(
        f"42099171{NUMBERS[0]}",
        how=CameBack.UNCLAIMED,
        came_back_on=START,
        words="",
        day=day(run.program),
        hand=HAND,
    )
    assert [one.letter_id for one in done.kept] == [listed(run)[0].letter_id]


def test_letters_41_to_57_spoiled_are_the_same_bytes_and_numbers_and_no_second_notice() -> None:
    program = live()
    run = run_of(program, owners=60)
    numbers = "\n".join(f"70123456{place:012}" for place in range(1, 61))
    assert keep_numbers(run, lines=typed_numbers(numbers), hand=HAND).kept == 60
    before, digest = listed(run), list_digest(listed(run))
    counts = (Notice.objects.count(), Letter.objects.count(), Delivery.objects.count())
    spoiled(run, first=41, last=57, hand=HAND)
    again = PdfReader(BytesIO(part_pdf(run, first=41, last=57)))
    fronts = [page for at, page in enumerate(again.pages) if at % 2 == 0]
    assert len(fronts) == 17
    for front, one in zip(fronts, before[40:57], strict=True):
        kept = PdfReader(BytesIO(bytes(LetterFile.objects.get(pk=one.letter_id).pdf))).pages[0]
        assert front.get_contents().get_data() == kept.get_contents().get_data()  # type: ignore[union-attr]
        assert one.number in front.extract_text()
    assert listed(run) == before  # places, numbers, certified numbers, hashes
    assert list_digest(listed(run)) == digest
    assert (Notice.objects.count(), Letter.objects.count(), Delivery.objects.count()) == counts
    printed = DeliveryTry.objects.filter(outcome="printed again").order_by("delivery__place")
    assert list(printed.values_list("delivery__place", flat=True)) == list(range(41, 58))
