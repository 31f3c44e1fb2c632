"""A case is told in the order in which it happened, within a day too, and as it was recorded."""

from __future__ import annotations

import re
from datetime import date
from io import BytesIO

from pypdf import PdfReader

from reports.domain.evidence import Event, LetterTold, Story, Way, at_step, in_order
from reports.evidence.pages import drawn

AUGUST = date(2026, 8, 6)


def events(*words: str, on: date = AUGUST, step: int = 0) -> list[Event]:
    return [Event(on=on, what=one, step=step) for one in words]


def test_what_happened_on_one_day_is_told_in_its_order() -> None:
    # An assembly passes; water is ordered back, goes on, and the letter says so: all in one day.
    told = [
        *at_step(9, events("work order made", "work order carried out")),
        *at_step(7, [*events("letter about water left", step=11), *events("decision left")]),
        *at_step(8, [*events("proof was shown"), *events("shutoff ended", step=10)]),
        *at_step(2, events("it passed")),
        *at_step(2, events("it failed", on=date(2026, 8, 5))),
        *at_step(1, events("the owner called")),
    ]
    assert [one.what for one in in_order(told)] == [
        "it failed",
        "the owner called",
        "it passed",
        "decision left",
        "proof was shown",
        "work order made",
        "work order carried out",
        "shutoff ended",
        "letter about water left",
    ]


def story(count: int) -> Story:
    letters = tuple(
        LetterTold(
            number=f"26-0612-{n:04d}", kind="second-due-notice", to=("Larch <Court> & Sons",),
            composed_on="2026-05-27", state="left", left_on="2026-05-27", released_by="A. Clerk",
            ended="", carries=("second-notice F2-00917",), pages=1, sha256="ab" * 32,
            file=f"26-0612-{n:04d}.pdf",
            ways=(
                Way(
                    channel="certified", state="left", left_on="2026-05-27",
                    detail="Run 2, mailed 2026-05-27.", tracking="92148901", tries=(),
                ),
            ),
        )
        for n in range(count)
    )  # fmt: skip
    return Story(
        office="Tamarack Flats", program="flats", about="230 Larch Court (account 230)",
        as_of=AUGUST, made_at="2026-08-10T15:20:00+00:00", made_by="Ada Birch", things=(),
        events=tuple(events("it passed")), letters=letters, rules=(),
    )  # fmt: skip


def pages(count: int) -> list[str]:
    read = PdfReader(BytesIO(drawn(story(count)))).pages
    return [re.sub(r"\s+", " ", page.extract_text()) for page in read]


def test_serials_stand_as_they_are_and_days_in_words() -> None:
    (page,) = pages(1)
    assert "made August 10, 2026 at 15:20 UTC by Ada Birch" in page
    assert "second notice F2-00917" in page
    assert "left May 27, 2026. Run 2, mailed May 27, 2026. number 92148901" in page
    assert "2026-" not in page.replace("2026-08-10", "")


def test_what_is_told_of_a_letter_stays_on_one_page() -> None:
    read = pages(20)
    assert len(read) > 3
    for number in range(20):
        (where,) = [page for page in read if f"26-0612-{number:04d} Second" in page]
        assert f"26-0612-{number:04d}.pdf, 1 page" in where
    assert "Letters, as they were sent" in read[0]
    assert "had not left." in read[0]


def test_the_order_within_a_day_is_no_part_of_what_is_sealed() -> None:
    (told,) = story(1).to_plain()["events"]
    assert told == {"on": "2026-08-06", "what": "it passed", "about": "", "by": "", "ground": ""}
