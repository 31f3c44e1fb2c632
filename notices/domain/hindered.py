"""What a letter says of a visit that found no test: the day, and the valve that must hold first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from notices.domain.briefs import Item, Words
from notices.domain.long_dates import long_date

SHUTOFF_2 = "shutoff valve 2"
"""The valve behind the assembly, as a field test's fact names it; another word: either valve."""

MOST_NAMED = 5


def valve_sentences(items: Sequence[Item], *, words: Words) -> tuple[str, ...]:
    """One sentence for each assembly whose shutoff valve kept it from being tested."""
    return tuple(_valve(item, words=words) for item in items if item.valve)[:MOST_NAMED]


def why_hindered(items: Sequence[Item], *, words: Words) -> str:
    """Why a repair is asked for where a visit found no test; empty where each was a failed test."""
    hindered = [item for item in items if item.is_hindered]
    if not hindered:
        return ""
    if len(hindered) < len(items):
        return words.gettext(
            "Each did not meet the limits or could not be tested on the day shown. Each must be "
            "repaired and pass a new test."
        )
    return words.ngettext(
        "It could not be tested on the day shown, which counts as failed. It must be put right "
        "and pass a test.",
        "They could not be tested on the days shown, which counts as failed. Each must be put "
        "right and pass a test.",
        len(items),
    )


def hindered_lead(on: date, *, words: Words, language: str) -> str:
    """What the owner's page says in place of a failed test."""
    told = words.gettext("It could not be tested on %(day)s, which counts as failed.")
    return told % {"day": long_date(on, language=language)}


def _valve(item: Item, *, words: Words) -> str:
    if item.valve == SHUTOFF_2:
        text = words.gettext(
            "%(serial)s: shutoff valve 2 lets water through. It must hold before a test can count."
        )
    else:
        text = words.gettext(
            "%(serial)s: a shutoff valve does not close. It must close before a test can be done."
        )
    return text % {"serial": item.serial}
