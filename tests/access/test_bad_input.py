"""What cannot be meant is refused at the door: named, with the mend, and nothing is half-kept.

One row for each kind: a rulebook brought in as a draft, and a fact recorded on an assembly's page.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from registry.models import Change
from scheduling.models import Decision, Fact, Obligation, Rulebook
from tests.access.addresses import address
from tests.access.cast import Office, made_cast
from tests.access.test_matrix import BACKEND
from tests.domain.scheduling.histories import text_of

ROLLING = text_of("plain-rolling")
YEARLY = 'every = "FREQ=YEARLY"'


def swapped(old: str, new: str, text: str = ROLLING) -> str:
    assert old in text
    return text.replace(old, new)


BOOKS: dict[str, tuple[str, str, str]] = {
    "RRULE text outside the whitelist": (
        swapped(YEARLY, 'every = "FREQ=YEARLY;BYDAY=MO"'),
        "yearly",
        "'BYDAY=MO' is not allowed here",
    ),
    "INTERVAL 0": (
        swapped("FREQ=MONTHLY;INTERVAL=6", "FREQ=MONTHLY;INTERVAL=0"),
        "half-yearly",
        "INTERVAL=0 is out of range: 1 to 120, and not 0",
    ),
    "overlapping rules of equal priority": (
        swapped('every = "FREQ', 'priority = 2\nevery = "FREQ'),
        "half-yearly and yearly catch the same assembly",
        "priority",
    ),
    "a ladder whose rungs run backwards": (
        swapped("offset_days = -15", "offset_days = -50"),
        "'second-reminder' runs backwards",
        "its day lies before the rung above it",
    ),
    "a rulebook that leaves some assembly without a rule": (
        swapped(
            'regime = "anniversary"',
            'regime = "anniversary"\nresidential = true',
            text_of("plain-anniversary"),
        ),
        "have no cycle, the first a RP on high hazard",
        "exempt",
    ),
    "a courtesy rung marked as legally required": (
        swapped("is_skippable = true", "is_skippable = true\nis_required = true"),
        "'reminder' is a courtesy and marked as required by law",
        "take out is_skippable",
    ),
    "a law's day before 1900": (
        swapped("\n[method]", "\neffective_on = 1899-12-31\n\n[method]"),
        "December 31, 1899",
        "outside 1900 to 2200",
    ),
}

FACTS: dict[str, tuple[dict[str, str], str, str]] = {
    "a date before 1900": (
        {"kind": "passed", "on": "1899-12-31"},
        "passed on 1899-12-31",
        "correct the year",
    ),
    "a date after 2200": (
        {"kind": "extended", "on": "2026-11-20", "until": "2201-01-01"},
        "2201-01-01",
        "outside 1900 to 2200",
    ),
    "a fact in the future": (
        {"kind": "failed", "on": "2026-11-26"},
        "2026-11-26",
        "",
    ),
    "a pass before installation": (
        {"kind": "passed", "on": "2024-02-29"},
        "passed on 2024-02-29 lies before the installation on 2024-03-01",
        "correct one of the two",
    ),
    "an extension ending before it begins": (
        {"kind": "extended", "on": "2026-11-20", "until": "2026-11-01"},
        "before it begins",
        "exchange the days",
    ),
}


@pytest.fixture
def office(db: None, client: Client) -> Office:
    cast = made_cast()
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    return cast.home


def kept() -> list[list[Any]]:
    """Everything that could be half-kept."""
    return [
        list(model.objects.order_by("pk").values_list())
        for model in (Rulebook, Fact, Decision, Obligation, Change)
    ]


def text_on(page: bytes) -> str:
    told = page.decode().replace("&#x27;", "'").replace("\N{NO-BREAK SPACE}", " ")
    return told.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")


@pytest.mark.parametrize("what", BOOKS)
def test_a_rulebook_that_cannot_be_meant_is_refused_whole(
    client: Client, office: Office, what: str
) -> None:
    text, named, mend = BOOKS[what]
    before = kept()
    file = SimpleUploadedFile("brought.toml", text.encode())
    where = address("rulebook-draft-upload", office)
    answer = client.post(where, {"file": file}, follow=True)
    page = text_on(answer.content)
    assert named in page, page[-4000:]
    assert mend in page
    assert kept() == before


@pytest.mark.parametrize("what", FACTS)
def test_a_fact_that_cannot_be_is_refused_whole(client: Client, office: Office, what: str) -> None:
    told, named, mend = FACTS[what]
    before = kept()
    more = {"reason": "as heard", "approved_by": "A. Board"} if "until" in told else {}
    answer = client.post(address("fact-new", office), {**told, **more})
    assert answer.status_code == 200
    page = text_on(answer.content)
    assert named in page, page[-4000:]
    assert mend in page
    assert kept() == before
