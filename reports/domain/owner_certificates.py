"""What the owner's list of tests says, each with the way to its certificate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from notices.domain.briefs import Words
from notices.domain.long_dates import long_date


@dataclass(frozen=True, kw_only=True)
class CountedTest:
    """A counted test at the owner's premises; `certificate_id` where its paper was made."""

    test_id: int
    certificate_id: int | None
    on: date
    passed: bool
    serial: str
    type: str
    place: str


@dataclass(frozen=True, kw_only=True)
class OwnerTest:
    """A test as the list shows it."""

    test_id: int
    certificate_id: int | None
    mark: str
    verdict: str
    words: str


@dataclass(frozen=True, kw_only=True)
class OwnerCertificates:
    """The whole page."""

    title: str
    lead: str
    tests: tuple[OwnerTest, ...]
    open_words: str
    make_words: str
    back: str
    questions: str


def owner_certificates(
    tests: Sequence[CountedTest], *, words: Words, language: str
) -> OwnerCertificates:
    """The list, newest first as it comes."""
    say = words.gettext
    lead = say("A certificate shows the readings of one test. Its code tells anyone if it holds.")
    return OwnerCertificates(
        title=say("Tests on record"),
        lead=lead if tests else say("No test that counts is on record here."),
        tests=tuple(_shown(one, words=words, language=language) for one in tests),
        open_words=say("Open the certificate (PDF)"),
        make_words=say("Make the certificate"),
        back=say("Back to what is due"),
        questions=say("Questions, or something is wrong? Call or write to us:"),
    )


def _shown(one: CountedTest, *, words: Words, language: str) -> OwnerTest:
    told = [long_date(one.on, language=language), f"{one.type} {one.serial}".strip(), one.place]
    return OwnerTest(
        test_id=one.test_id,
        certificate_id=one.certificate_id,
        mark="passes" if one.passed else "fails",
        verdict=words.gettext("Passed") if one.passed else words.gettext("Did not pass"),
        words=", ".join(part for part in told if part),
    )
