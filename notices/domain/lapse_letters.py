"""The letter that tells a testing company which certificates and gauges lapse, or have lapsed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from notices.domain.briefs import Sender, Words
from notices.domain.cleaning import capital
from notices.domain.content import Row, RowGroup, Section, Table
from notices.domain.plain_letters import Text, reach
from notices.domain.wording import N_, cited, day_in

LAPSED = "lapsed"
"""The rung of a letter after the last day; the others are the days before it."""

LATEST_AFTER_DAYS = 30
"""So long after the last day a letter still says so; later a person sees it on the page only."""


class LapseLetter(StrEnum):
    """Kinds of letter about credentials; no rung of a ladder sends them."""

    SOON = "credential-lapses"
    LAPSED = "credential-lapsed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lapsing:
    """A certificate or a gauge (its calibration), whose it is, and the last day it holds."""

    what: str
    name: str
    last_day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class LapseBrief:
    """What such a letter is composed from."""

    sender: Sender
    items: tuple[Lapsing, ...]
    citation: str = ""


def rung_of(last_day: date, *, today: date, before: Iterable[int], is_told_after: bool) -> str:
    """Return which letter is owed today for a last day, or nothing.

    Of the days before it the nearest that has come counts, so that a program which begins late
    sends one. Example: 60 and 30 days before 1 June, asked on 10 May: the one of 30 days.
    """
    left = (last_day - today).days
    if left < 0:
        return LAPSED if is_told_after and -left <= LATEST_AFTER_DAYS else ""
    come = [days for days in before if left <= days]
    return str(min(come)) if come else ""


def lapse_letter(brief: LapseBrief, *, words: Words, has_passed: bool) -> Text:
    """Return the letter; it threatens nothing, and says what a program counts."""
    several = len(brief.items)
    return Text(
        title=words.gettext(_TITLES[has_passed]),
        headline=(_headline(several, words=words, has_passed=has_passed), _by(brief, words=words)),
        paragraphs=(
            cited(
                words.gettext(
                    "This program counts a field test whose tester and gauge hold on the day of "
                    "the test. Ours is only the record: we ask you for the newest papers."
                ),
                brief.citation,
            ),
        ),
        table=_table(brief.items, words=words, has_passed=has_passed),
        steps=(
            words.gettext("Send us the new certificate, or the paper of the new calibration."),
            words.gettext("Is the date in our record wrong? Tell us, and send the paper."),
            words.gettext("Is it no longer in use? Tell us, and we ask no more."),
        ),
        sections=(
            Section(
                heading=words.gettext("How to reach us"),
                paragraphs=(
                    words.gettext("Call or write to us: %(reach)s.")
                    % {"reach": reach(brief.sender, words=words)},
                ),
            ),
        ),
        cautions=(
            words.gettext(
                "Tests that were done before the last day are not touched by this letter."
            ),
        ),
    )


_TITLES = {
    False: N_("Certificate or gauge lapses soon"),
    True: N_("Certificate or gauge has lapsed"),
}
_WHAT = {
    "certificate": N_("Certificate of a tester"),
    "gauge": N_("Calibration of a gauge"),
}


def _headline(several: int, *, words: Words, has_passed: bool) -> str:
    if has_passed:
        return words.ngettext(
            "One of your papers in our record has lapsed.",
            "Papers of yours in our record have lapsed.",
            several,
        )
    return words.ngettext(
        "One of your papers in our record lapses soon.",
        "Papers of yours in our record lapse soon.",
        several,
    )


def _by(brief: LapseBrief, *, words: Words) -> str:
    first = min(item.last_day for item in brief.items)
    return words.gettext("The earliest last day is %(date)s.") % {
        "date": day_in(first, words=words)
    }


def _table(items: Sequence[Lapsing], *, words: Words, has_passed: bool) -> Table:
    standing = words.gettext("lapsed") if has_passed else words.gettext("lapses soon")
    heads = (
        words.gettext("Paper"),
        words.gettext("Whose"),
        words.gettext("Last day"),
        words.gettext("Asked for"),
        words.gettext("Standing"),
    )
    rows = tuple(
        Row(
            cells=(
                (capital(words.gettext(_WHAT[item.what])),),
                (item.name,),
                (day_in(item.last_day, words=words),),
                (capital(words.gettext("the new paper")),),
                (capital(standing),),
            )
        )
        for item in items
    )
    return Table(heads=heads, groups=(RowGroup(title="", rows=rows),))
