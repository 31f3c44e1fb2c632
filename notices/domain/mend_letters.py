"""The letter that tells a testing company which reports do not count, and how to mend each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from notices.domain.briefs import Sender, Words
from notices.domain.cleaning import capital, clean
from notices.domain.content import Row, RowGroup, Section, Table
from notices.domain.in_hand import ReportLacks
from notices.domain.plain_letters import Text, reach
from notices.domain.wording import N_, cited, day_in


class MendLetter(StrEnum):
    """The kind of letter about reports to mend; no rung of a ladder sends it."""

    REPORTS = "reports-to-mend"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToMend:
    """One report that does not count: its assembly, the day of the visit, why, and until when.

    `due_on`: the last day for the report by the rulebook; None where it names none.
    """

    serial: str
    place: str
    tested_on: date
    tester: str
    lacks: tuple[ReportLacks, ...]
    due_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MendBrief:
    """What such a letter is composed from; `pages` is the address of our pages."""

    sender: Sender
    reports: tuple[ToMend, ...]
    pages: str
    today: date
    citation: str = ""


def mend_letter(brief: MendBrief, *, words: Words) -> Text:
    """Return the letter; it threatens nothing, and names for each reason what mends it."""
    several = len(brief.reports)
    lacks = _lacks(brief.reports)
    return Text(
        title=words.gettext(TITLE),
        headline=(
            words.ngettext(
                "A report of yours does not count.", "Reports of yours do not count.", several
            ),
            _by(brief, words=words),
        ),
        paragraphs=(
            words.gettext(
                "We looked at what you sent. The table names each assembly, the day of the visit "
                "and what is wrong."
            ),
            words.gettext("Until a report counts, the test stays owed."),
        ),
        table=_table(brief.reports, words=words),
        steps=(
            *(words.gettext(_MENDS[one]) for one in lacks),
            words.gettext("Send the mended report on our pages: %(pages)s.")
            % {"pages": clean(brief.pages)},
        ),
        sections=(
            Section(
                heading=words.gettext("By when"),
                paragraphs=(_until(brief, words=words),),
            ),
            Section(
                heading=words.gettext("How to reach us"),
                paragraphs=(
                    words.gettext("You may also send it to us, or ask: %(reach)s.")
                    % {"reach": reach(brief.sender, words=words)},
                ),
            ),
        ),
        cautions=(
            words.gettext("Change nothing that you did not measure. Where in doubt, test again."),
        ),
    )


TITLE = N_("A report does not count, and how to mend it")

_SHORT = {
    ReportLacks.NUMBERS: N_("a number is missing"),
    ReportLacks.TESTER: N_("certificate"),
    ReportLacks.CLASSES: N_("type not covered"),
    ReportLacks.GAUGE: N_("gauge"),
    ReportLacks.READINGS: N_("readings"),
    ReportLacks.OTHER: N_("ask us"),
}
"""What the table says is wrong."""

_MENDS = {
    ReportLacks.NUMBERS: N_(
        "A number is missing: write the number of the certificate and that of the gauge."
    ),
    ReportLacks.TESTER: N_(
        "Certificate: our record shows none that held on that day. Send us the one that did. "
        "Did none hold? Have an accepted tester test again."
    ),
    ReportLacks.CLASSES: N_(
        "Type not covered: the certificate does not name this type. Send us one that does, or "
        "have another tester test."
    ),
    ReportLacks.GAUGE: N_(
        "Gauge: our record shows no calibration that held on that day. Send us its paper. "
        "Did none hold? Test again with a gauge that is good."
    ),
    ReportLacks.READINGS: N_(
        "Readings: one is missing or cannot be read. Send the report again with all of them. "
        "Were they not taken? Test again."
    ),
    ReportLacks.OTHER: N_("Ask us: call or write, and we say what to send."),
}
"""What mends it, by the words of the table."""


def _lacks(reports: Sequence[ToMend]) -> tuple[ReportLacks, ...]:
    found = {lack for one in reports for lack in one.lacks or (ReportLacks.OTHER,)}
    return tuple(lack for lack in ReportLacks if lack in found)


def _by(brief: MendBrief, *, words: Words) -> str:
    days = [one.due_on for one in brief.reports if one.due_on is not None]
    to_come = [day for day in days if day >= brief.today]
    if to_come:
        text = words.ngettext(
            "Please send it again by %(date)s.",
            "Please send them again, the first by %(date)s.",
            len(brief.reports),
        )
        return text % {"date": day_in(min(to_come), words=words)}
    return words.ngettext(
        "Please send it again as soon as you can.",
        "Please send them again as soon as you can.",
        len(brief.reports),
    )


def _until(brief: MendBrief, *, words: Words) -> str:
    """When each report is due; a rule that names no day, and one that has passed, is said."""
    days = [one.due_on for one in brief.reports if one.due_on is not None]
    if not days:
        return words.gettext("Our rules name no last day for a report. The test stays owed.")
    if min(days) < brief.today:
        text = words.gettext("The last day for a report stands in the table. One has passed.")
    else:
        text = words.gettext("The last day for a report stands in the table.")
    return cited(text, brief.citation)


def _table(reports: Sequence[ToMend], *, words: Words) -> Table:
    heads = (
        words.gettext("Assembly"),
        words.gettext("Tested"),
        words.gettext("Tester"),
        words.gettext("Report due"),
        words.gettext("What is wrong"),
    )
    groups: dict[str, list[Row]] = {}
    for one in reports:
        due = day_in(one.due_on, words=words) if one.due_on else words.gettext("no day named")
        lacks = one.lacks or (ReportLacks.OTHER,)
        wrong = tuple(capital(words.gettext(_SHORT[lack])) for lack in lacks)
        row = Row(
            cells=(
                (f"{capital(words.gettext('serial'))} {clean(one.serial, cap=60)}",),
                (day_in(one.tested_on, words=words),),
                (clean(one.tester, cap=60),),
                (capital(due),),
                wrong,
            )
        )
        groups.setdefault(clean(one.place), []).append(row)
    return Table(
        heads=heads,
        groups=tuple(RowGroup(title=place, rows=tuple(rows)) for place, rows in groups.items()),
    )
