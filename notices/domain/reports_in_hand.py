"""What letters say of a report that came in and closed nothing: its day, why, and its mend."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from notices.domain.briefs import Item, Words
from notices.domain.in_hand import ReportInHand, ReportLacks
from notices.domain.wording import day_in, sentence_list

MOST_NAMED = 5
"""Reports named one by one in a letter's paragraph."""


def report_sentences(items: Sequence[Item], *, words: Words) -> tuple[str, ...]:
    """Return what a letter says of reports in hand: the day, why it does not count, the mend."""
    named = [(item, item.report) for item in items if item.report is not None][:MOST_NAMED]
    return tuple(_told(report, serial=item.serial, words=words) for item, report in named)


def _told(report: ReportInHand, *, serial: str, words: Words) -> str:
    day = day_in(report.tested_on, words=words)
    if report.waits:
        text = words.gettext(
            "%(serial)s: we have the report of the test on %(day)s and still look at it."
        )
        return text % {"serial": serial, "day": day}
    text = words.gettext(
        "%(serial)s: we have the report of the test on %(day)s. It does not count."
    )
    told = text % {"serial": serial, "day": day}
    return sentence_list([told, *why_sentences(report.lacks, words=words)])


def why_sentences(lacks: Iterable[ReportLacks], *, words: Words) -> tuple[str, ...]:
    """Return why a report does not count and what mends it, two sentences for each reason."""
    return tuple(_why(one, words=words) for one in dict.fromkeys(lacks) or (ReportLacks.OTHER,))


def _why(lack: ReportLacks, *, words: Words) -> str:
    if lack is ReportLacks.NUMBERS:
        return words.gettext(
            "The number of the tester's certificate or of the gauge is missing on it. Ask the "
            "tester to send the report again with both."
        )
    if lack is ReportLacks.TESTER:
        return words.gettext(
            "Our record does not show that the tester was certified and accepted on that day. "
            "Ask the tester for the certificate, or have an accepted tester test again."
        )
    if lack is ReportLacks.CLASSES:
        return words.gettext(
            "The tester's certificate does not cover this type of assembly. Have a tester test "
            "it whose certificate does."
        )
    if lack is ReportLacks.GAUGE:
        return words.gettext(
            "Our record does not show that the gauge was calibrated for that day. Ask the tester "
            "for its calibration, or have it tested again."
        )
    return words.gettext("Something is missing. Call us: we say what to send.")
