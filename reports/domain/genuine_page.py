"""What the public page of a certificate says: genuine or not, still the latest or not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from notices.domain.briefs import Words
from notices.domain.long_dates import long_date
from notices.domain.wording import size_words
from reports.domain.certificates import Genuine, Tested


@dataclass(frozen=True, kw_only=True)
class OnPaper:
    """What the paper says and its page repeats: kept, for the registry may say otherwise later."""

    number: str
    on: date
    passed: bool
    type: str
    size_in: Decimal
    serial: str
    place: str

    def plain(self) -> dict[str, str | bool]:
        """The same as JSON keeps it."""
        return {
            "number": self.number,
            "on": self.on.isoformat(),
            "passed": self.passed,
            "type": self.type,
            "size_in": f"{self.size_in:f}",
            "serial": self.serial,
            "place": self.place,
        }

    @classmethod
    def read(cls, plain: Mapping[str, str | bool]) -> OnPaper:
        """What `plain` gave."""
        return cls(
            number=str(plain["number"]),
            on=date.fromisoformat(str(plain["on"])),
            passed=bool(plain["passed"]),
            type=str(plain["type"]),
            size_in=Decimal(str(plain["size_in"])),
            serial=str(plain["serial"]),
            place=str(plain["place"]),
        )


def on_paper(tested: Tested) -> OnPaper:
    """What of a certificate its page repeats."""
    return OnPaper(
        number=tested.number,
        on=tested.on,
        passed=tested.passed,
        type=tested.type,
        size_in=tested.size_in,
        serial=tested.serial,
        place=", ".join(part for part in (tested.premises, tested.address) if part),
    )


@dataclass(frozen=True, kw_only=True)
class GenuinePage:
    """The whole page; it shows nothing that the certificate does not show."""

    language: str
    title: str
    lead: str
    is_good: bool
    pairs: tuple[tuple[str, str], ...]
    check_heading: str
    check_words: str
    sha256: str
    questions: str


def genuine_page(
    paper: OnPaper,
    *,
    genuine: Genuine,
    later_on: date | None,
    sha256: str,
    words: Words,
    language: str,
) -> GenuinePage:
    """The page of a certificate that we made."""
    later = long_date(later_on, language=language) if later_on else ""
    title, lead = _told(genuine, words=words)
    say = words.gettext
    verdict = say("Passed") if paper.passed else say("Did not pass")
    return GenuinePage(
        language=language,
        title=title,
        lead=lead % {"later": later} if later else lead,
        is_good=genuine is Genuine.LATEST,
        pairs=(
            (say("Certificate"), paper.number),
            (say("Test of"), long_date(paper.on, language=language)),
            (say("Verdict"), verdict),
            (say("Assembly"), f"{paper.type}, {size_words(paper.size_in)}"),
            (say("Serial number"), paper.serial),
            (say("At"), paper.place),
        ),
        check_heading=say("Is the file the one we made?"),
        check_words=say("Compare what stands above with the paper. The file’s SHA-256 is:"),
        sha256=sha256,
        questions=say("Questions, or something is wrong? Call or write to us:"),
    )


@dataclass(frozen=True, kw_only=True)
class UnknownPage:
    """The page for a code that is none of ours."""

    title: str
    lead: str


def unknown_page(*, words: Words, is_resting: bool) -> UnknownPage:
    """What is said of a code that no certificate has; after many of them only to wait."""
    if is_resting:
        return UnknownPage(
            title=words.gettext("Too many wrong codes came from here"),
            lead=words.gettext("Try again in an hour, or call the office."),
        )
    return UnknownPage(
        title=words.gettext("No certificate of ours has this code"),
        lead=words.gettext(
            "Either the address was not read in full, or the paper is not from here. Ask the"
            " office named on it."
        ),
    )


def _told(genuine: Genuine, *, words: Words) -> tuple[str, str]:
    say = words.gettext
    if genuine is Genuine.LATEST:
        return (
            say("Genuine, and the latest"),
            say("This certificate is ours, and no later test of the assembly is on record."),
        )
    if genuine is Genuine.OVERTAKEN:
        return (
            say("Genuine, but no longer the latest"),
            say("This certificate is ours. A later test of %(later)s is on record."),
        )
    if genuine is Genuine.CHANGED:
        return (
            say("Made by us, but the record was changed since"),
            say("What the record says of this test is no longer what the paper says. Ask us."),
        )
    return (
        say("Made by us, but the test no longer counts"),
        say("The test was withdrawn, or was found not to count. Ask us."),
    )
