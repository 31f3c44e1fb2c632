"""A letter's headline in two sentences: what is the matter, and by when to do what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from notices.domain.briefs import Item, Words
from notices.domain.cleaning import clean
from notices.domain.kinds import FINAL_KINDS, LetterKind, Work
from notices.domain.long_dates import long_date
from notices.domain.wording import N_, count_word

PLACE_CAP = 70


@dataclass(frozen=True, slots=True)
class Pair:
    """One sentence for a single assembly and its twin for several."""

    one: str
    many: str


_MATTER = {
    LetterKind.TEST_OWED: Pair(
        N_("A backflow test is owed at %(place)s."),
        N_("%(count)s backflow tests are owed at %(place)s."),
    ),
    LetterKind.DUE_NOTICE: Pair(
        N_("A backflow test is due at %(place)s."),
        N_("%(count)s backflow tests are due at %(place)s."),
    ),
    LetterKind.SECOND_DUE_NOTICE: Pair(
        N_("Second notice: a backflow test is due at %(place)s."),
        N_("Second notice: %(count)s backflow tests are due at %(place)s."),
    ),
    LetterKind.REMINDER: Pair(
        N_("A backflow test is due at %(place)s."),
        N_("%(count)s backflow tests are due at %(place)s."),
    ),
    LetterKind.SECOND_REMINDER: Pair(
        N_("A backflow test is still due at %(place)s."),
        N_("%(count)s backflow tests are still due at %(place)s."),
    ),
    LetterKind.REPAIR: Pair(
        N_("A backflow assembly at %(place)s failed its test."),
        N_("%(count)s backflow assemblies at %(place)s failed their tests."),
    ),
    LetterKind.FIRST_OVERDUE: Pair(
        N_("A backflow test at %(place)s is overdue."),
        N_("%(count)s backflow tests at %(place)s are overdue."),
    ),
    LetterKind.SECOND_OVERDUE: Pair(
        N_("Second notice: a backflow test at %(place)s is overdue."),
        N_("Second notice: %(count)s overdue backflow tests at %(place)s."),
    ),
    LetterKind.FINAL: Pair(
        N_("Final notice: a backflow test at %(place)s is overdue."),
        N_("Final notice: %(count)s overdue backflow tests at %(place)s."),
    ),
    LetterKind.TURN_OFF: Pair(
        N_("Turn-off notice: a backflow test at %(place)s is overdue."),
        N_("Turn-off notice: %(count)s overdue backflow tests at %(place)s."),
    ),
    LetterKind.SHUTOFF_ORDER: Pair(
        N_("Water at %(place)s is ordered shut off."),
        N_("Water at %(place)s is ordered shut off: %(count)s tests."),
    ),
}

_OVERDUE_REPAIR = Pair(
    N_("The repair of a backflow assembly at %(place)s is overdue."),
    N_("The repair of %(count)s backflow assemblies at %(place)s is overdue."),
)

_PROTECTION = {
    LetterKind.TEST_OWED: Pair(
        N_("A water service at %(place)s needs backflow protection."),
        N_("%(count)s water services at %(place)s need backflow protection."),
    ),
    LetterKind.REMINDER: Pair(
        N_("Backflow protection of a water service at %(place)s is due."),
        N_("%(count)s water services at %(place)s are due for backflow protection."),
    ),
    LetterKind.SECOND_REMINDER: Pair(
        N_("Backflow protection of a water service at %(place)s is still due."),
        N_("%(count)s water services at %(place)s are still due for backflow protection."),
    ),
    LetterKind.FIRST_OVERDUE: Pair(
        N_("Backflow protection of a water service at %(place)s is overdue."),
        N_("Backflow protection of %(count)s water services at %(place)s is overdue."),
    ),
    LetterKind.SECOND_OVERDUE: Pair(
        N_("Second notice: backflow protection of a water service at %(place)s is overdue."),
        N_("Second notice: backflow protection of %(count)s services at %(place)s is overdue."),
    ),
    LetterKind.FINAL: Pair(
        N_("Final notice: backflow protection of a water service at %(place)s is overdue."),
        N_("Final notice: backflow protection of %(count)s services at %(place)s is overdue."),
    ),
}
_SURVEY = {
    LetterKind.TEST_OWED: Pair(
        N_("We must survey the plumbing at %(place)s."),
        N_("We must survey the plumbing at %(place)s."),
    ),
    LetterKind.REMINDER: Pair(
        N_("A survey of the plumbing at %(place)s is due."),
        N_("Surveys of the plumbing at %(place)s are due."),
    ),
    LetterKind.SECOND_REMINDER: Pair(
        N_("A survey of the plumbing at %(place)s is still due."),
        N_("Surveys of the plumbing at %(place)s are still due."),
    ),
    LetterKind.FIRST_OVERDUE: Pair(
        N_("A survey of the plumbing at %(place)s is overdue."),
        N_("Surveys of the plumbing at %(place)s are overdue."),
    ),
    LetterKind.SECOND_OVERDUE: Pair(
        N_("Second notice: a survey of the plumbing at %(place)s is overdue."),
        N_("Second notice: surveys of the plumbing at %(place)s are overdue."),
    ),
    LetterKind.FINAL: Pair(
        N_("Final notice: a survey of the plumbing at %(place)s is overdue."),
        N_("Final notice: surveys of the plumbing at %(place)s are overdue."),
    ),
}
_OTHER_MATTER = {Work.PROTECTION: _PROTECTION, Work.SURVEY: _SURVEY}

_ACT_INSTALL = N_("Have it installed by %(date)s.")
_ACT_INSTALL_NOW = N_("Have it installed now.")
_ACT_SURVEY = N_("Agree with us on a day before %(date)s.")
_ACT_SURVEY_NOW = N_("Agree with us on a day now.")
_ACT = Pair(N_("Have it done by %(date)s."), N_("Have them done by %(date)s."))
_ACT_BEFORE = Pair(N_("Have it done before %(date)s."), N_("Have them done before %(date)s."))
"""Of a last notice: on the day itself water may be shut off already."""

_ACT_NOW = Pair(N_("Have it done now."), N_("Have them done now."))
_ACT_FIRST = N_("Have each done by its date, the first by %(date)s.")
_ACT_REPAIR = Pair(
    N_("Have it repaired and tested again by %(date)s."),
    N_("Have them repaired and tested again by %(date)s."),
)
_ACT_ORDER = Pair(
    N_("A backflow test is overdue: call us today."),
    N_("Several backflow tests are overdue: call us today."),
)


def headline(
    *, kind: LetterKind, items: Sequence[Item], by: Sequence[date], words: Words, language: str
) -> tuple[str, str]:
    """Return the two sentences in the language of `words`.

    `by` holds the days asked for: one, or several where assemblies differ.
    """
    matter = _matter(kind=kind, items=items, words=words)
    if items[0].work is not Work.TEST:
        act = act_of_other(items[0].work, by=by, words=words, language=language)
        return (matter, act)
    return (matter, _act(kind=kind, count=len(items), by=by, words=words, language=language))


def act_of_other(work: Work, *, by: Sequence[date], words: Words, language: str) -> str:
    """Say by when protection is to be installed, or a survey agreed on."""
    plain, now = (
        (_ACT_SURVEY, _ACT_SURVEY_NOW) if work is Work.SURVEY else (_ACT_INSTALL, _ACT_INSTALL_NOW)
    )
    if not by:
        return words.gettext(now)
    return words.gettext(plain) % {"date": long_date(min(by), language=language)}


def place_of(items: Sequence[Item], *, words: Words) -> str:
    """Name the premises in a sentence, or how many there are."""
    places = {item.premises_key: item.premises for item in items}
    if len(places) == 1:
        street = clean(next(iter(places.values())), cap=PLACE_CAP)
        return street or words.gettext("your premises")
    return words.gettext("%(count)s premises") % {"count": f"{len(places):,}"}


def _matter(*, kind: LetterKind, items: Sequence[Item], words: Words) -> str:
    pair = _OTHER_MATTER.get(items[0].work, _MATTER).get(kind) or _MATTER[kind]
    overdue_notices = (LetterKind.FIRST_OVERDUE, LetterKind.SECOND_OVERDUE)
    if kind in overdue_notices and all(item.failed_on for item in items):
        pair = _OVERDUE_REPAIR
    count = count_word(len(items), words=words)
    text = words.ngettext(pair.one, pair.many, len(items))
    if not text.startswith("%(count)s"):
        count = count.lower()
    return text % {"count": count, "place": place_of(items, words=words)}


def _act(*, kind: LetterKind, count: int, by: Sequence[date], words: Words, language: str) -> str:
    if kind is LetterKind.SHUTOFF_ORDER:
        return words.ngettext(_ACT_ORDER.one, _ACT_ORDER.many, count)
    if not by:
        return words.ngettext(_ACT_NOW.one, _ACT_NOW.many, count)
    day = long_date(min(by), language=language)
    if len(set(by)) > 1:
        return words.gettext(_ACT_FIRST) % {"date": day}
    pair = _ACT_REPAIR if kind is LetterKind.REPAIR else _ACT
    if kind in FINAL_KINDS:
        pair = _ACT_BEFORE
    return words.ngettext(pair.one, pair.many, count) % {"date": day}
