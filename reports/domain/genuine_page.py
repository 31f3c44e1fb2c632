"""What the public page of a certificate says: genuine or not, still the latest or not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from notices.domain.briefs import Words
from notices.domain.long_dates import long_date
from notices.domain.wording import size_words
from reports.domain.certificates import Genuine, Tested


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
    tested: Tested,
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
    verdict = say("Passed") if tested.passed else say("Did not pass")
    place = ", ".join(part for part in (tested.premises, tested.address) if part)
    return GenuinePage(
        language=language,
        title=title,
        lead=lead % {"later": later} if later else lead,
        is_good=genuine is Genuine.LATEST,
        pairs=(
            (say("Certificate"), tested.number),
            (say("Test of"), long_date(tested.on, language=language)),
            (say("Verdict"), verdict),
            (say("Assembly"), f"{tested.type}, {size_words(tested.size_in)}"),
            (say("Serial number"), tested.serial),
            (say("At"), place),
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
