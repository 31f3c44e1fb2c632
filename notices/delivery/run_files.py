"""The files of a paper run: one PDF of kept bytes behind a cover sheet, and a list as CSV."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from io import StringIO

from django.db.models import Min

from notices.domain.long_dates import long_date
from notices.domain.paper_runs import groups_of, sheets_of
from notices.models import Delivery, LetterFile, PaperRun
from notices.rendering.batches import batch
from notices.rendering.covers import Cover, cover_sheet
from notices.rendering.paper import paper_of
from registry.batches import in_batches
from registry.domain.formula_guard import guarded

READ_AT_ONCE = 50
HEADS = ("place", "letter", "kind", "pages", "sheets", "name", "address 1", "address 2",
         "address 3", "address 4", "zip", "certified number", "sha256", "first page",
         "last page")  # fmt: skip
_LINES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One letter of a run as its list names it."""

    delivery_id: int
    letter_id: int
    place: int
    number: str
    kind: str
    state: str
    pages: int
    address_lines: Sequence[str]
    zip: str
    tracking: str
    sha256: str

    @property
    def name(self) -> str:
        """The first line of the address."""
        return self.address_lines[0] if self.address_lines else ""


def listed(run: PaperRun) -> list[Listed]:
    """Return the letters of a run in their places."""
    rows = (
        Delivery.objects.filter(run=run)
        .order_by("place")
        .values_list(
            "pk",
            "letter_id",
            "place",
            "letter__number",
            "letter__kind",
            "state",
            "letter__file__pages",
            "letter__address_lines",
            "letter__mailing_zip",
            "tracking",
            "letter__file__sha256",
            named=True,
        )
    )
    return [
        Listed(
            delivery_id=row.pk,
            letter_id=row.letter_id,
            place=row.place or 0,
            number=row.letter__number,
            kind=row.letter__kind,
            state=row.state,
            pages=row.letter__file__pages,
            address_lines=row.letter__address_lines,
            zip=row.letter__mailing_zip,
            tracking=row.tracking,
            sha256=row.letter__file__sha256,
        )
        for row in rows
    ]


def list_digest(letters: Sequence[Listed]) -> str:
    """Return the SHA-256 of `place number sha256`, a line for each letter: what a cover prints."""
    text = "".join(f"{one.place} {one.number} {one.sha256}\n" for one in letters)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def run_pdf(run: PaperRun) -> bytes:
    """Return the run as one PDF, the cover sheet first; the same run gives the same bytes."""
    letters = listed(run)
    paper = paper_of(str((run.program.letterhead or {}).get("paper") or ""))
    return batch(_kept(letters), cover=cover_sheet(_cover(run, letters=letters), paper=paper))


def part_pdf(run: PaperRun, *, first: int, last: int) -> bytes:
    """Return some letters of a run by their places, to print again what was spoiled."""
    return batch(_kept([one for one in listed(run) if first <= one.place <= last]))


def run_csv(run: PaperRun) -> str:
    """Return the list for a mail house; cells a spreadsheet would run are made safe.

    `first page` and `last page` are those of the letter in the run's PDF, by which it is cut.
    """
    stream = StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(HEADS)
    letters = listed(run)
    for one, (first, last) in zip(letters, _pages_in_run(run, letters=letters), strict=True):
        lines = list(one.address_lines)
        lines = [*lines[: _LINES - 1], ", ".join(lines[_LINES - 1 :])]
        cells = [
            *(str(one.place), one.number, one.kind, str(one.pages), str(sheets_of(one.pages))),
            *(*lines, "", "", "", "", "")[:_LINES],
            *(one.zip, one.tracking, one.sha256, first, last),
        ]
        writer.writerow([guarded(cell) for cell in cells])
    return stream.getvalue()


def mail_by(run: PaperRun) -> date | None:
    """Return the earliest day from which a letter of the run counts the days it names."""
    found = Delivery.objects.filter(run=run).aggregate(first=Min("letter__mailing_on"))
    first: date | None = found["first"]
    return first


def _pages_in_run(run: PaperRun, *, letters: Sequence[Listed]) -> Iterator[tuple[str, str]]:
    """The pages of each letter in the run's PDF: the cover is a sheet, every letter begins one.

    The letters of a person who was erased have none.
    """
    kept = LetterFile.objects.filter(letter__deliveries__run=run).exclude(pdf=b"")
    there = set(kept.values_list("pk", flat=True))
    first = 3
    for one in letters:
        if one.letter_id not in there:
            yield "", ""
            continue
        yield str(first), str(first + one.pages - 1)
        first += 2 * sheets_of(one.pages)


def _kept(letters: Sequence[Listed]) -> Iterator[bytes]:
    """The kept bytes, read a few at a time."""
    for some in in_batches([one.letter_id for one in letters], size=READ_AT_ONCE):
        files = dict(LetterFile.objects.filter(pk__in=some).values_list("pk", "pdf"))
        # The letters of a person who was erased have no bytes any more.
        yield from (bytes(files[key]) for key in some if files[key])


def _cover(run: PaperRun, *, letters: Sequence[Listed]) -> Cover:
    is_trial = run.program.is_trial
    return Cover(
        office=run.program.name,
        title=f"Paper run {run.number}",
        facts=(
            ("By", "certified mail" if run.channel == "certified" else run.channel),
            ("Made", f"{long_date(run.made_on)} by {run.made_by}"),
            *_mail_by(run),
            ("Letters", f"{run.letters:,}"),
            ("Pages", f"{sum(one.pages for one in letters):,}"),
            ("Sheets, both sides", f"{run.sheets:,}"),
            ("First letter", letters[0].number if letters else ""),
            ("Last letter", letters[-1].number if letters else ""),
        ),
        groups=groups_of([one.pages for one in letters]),
        digest=list_digest(letters),
        words=(
            "Print on both sides: each letter starts on a front. This sheet is not mailed.",
            "A trial: nothing of this is to be mailed."
            if is_trial
            else "When it is mailed, say so on the page of the run: only that starts the clock.",
        ),
    )


def _mail_by(run: PaperRun) -> Iterator[tuple[str, str]]:
    """Until when it should be mailed: after that, days that its letters name may be too short."""
    first = mail_by(run)
    if first is None or run.program.is_trial:
        return
    late = f"at once: some letters count from {long_date(first)}"
    yield "Mail by", long_date(first) if first >= run.made_on else late
