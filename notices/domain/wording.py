"""Small words of letters: counts, sizes, names of kinds, and where an assembly stands."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from notices.domain.addresses import one_line
from notices.domain.briefs import Item, Words
from notices.domain.cleaning import capital, clean
from notices.domain.kinds import LetterKind, Work
from notices.domain.long_dates import NO_BREAK, long_date

_FRACTIONS = {
    Decimal("0.125"): "\u215b",
    Decimal("0.25"): "\u00bc",
    Decimal("0.375"): "\u215c",
    Decimal("0.5"): "\u00bd",
    Decimal("0.625"): "\u215d",
    Decimal("0.75"): "\u00be",
    Decimal("0.875"): "\u215e",
}


def N_(message: str) -> str:  # noqa: N802 - the usual name for a message translated later
    """Mark a message for the catalogue."""
    return message


_TITLES = {
    LetterKind.TEST_OWED: N_("Notice of test owed"),
    LetterKind.DUE_NOTICE: N_("Notice of test due"),
    LetterKind.SECOND_DUE_NOTICE: N_("Second notice of test due"),
    LetterKind.REMINDER: N_("Reminder"),
    LetterKind.SECOND_REMINDER: N_("Second reminder"),
    LetterKind.REPAIR: N_("Repair notice"),
    LetterKind.FIRST_OVERDUE: N_("First overdue notice"),
    LetterKind.SECOND_OVERDUE: N_("Second overdue notice"),
    LetterKind.FINAL: N_("Final notice"),
    LetterKind.TURN_OFF: N_("Turn-off notice"),
    LetterKind.SHUTOFF_ORDER: N_("Order to shut off water"),
}

_COUNTS = (
    N_("Two"),
    N_("Three"),
    N_("Four"),
    N_("Five"),
    N_("Six"),
    N_("Seven"),
    N_("Eight"),
    N_("Nine"),
)

_HAZARDS = {
    "high": N_("high hazard"),
    "low": N_("low hazard"),
    "not assessed": N_("hazard not yet assessed"),
}


_OWED_TITLES = {
    Work.TEST: N_("Notice of test owed"),
    Work.PROTECTION: N_("Notice of protection owed"),
    Work.SURVEY: N_("Notice of survey owed"),
}


def language_of(words: Words) -> str:
    """Return the language of a catalogue; one that names none is English, as the code is."""
    return words.info().get("language", "en")


def day_in(day: date, *, words: Words) -> str:
    """Return a day in full in the language of the catalogue."""
    return long_date(day, language=language_of(words))


def title_of(kind: LetterKind, *, words: Words, work: Work = Work.TEST) -> str:
    """Return the kind as the reference block names it."""
    title = _OWED_TITLES[work] if kind is LetterKind.TEST_OWED else _TITLES[kind]
    return words.gettext(title)


def count_word(count: int, *, words: Words) -> str:
    """Return a count that opens a sentence: a word up to nine, then figures."""
    if 2 <= count <= len(_COUNTS) + 1:
        return words.gettext(_COUNTS[count - 2])
    return f"{count:,}"


def size_words(size_in: Decimal) -> str:
    """Return a nominal size as the trade writes it: `2 in`, `1½ in`, `¾ in`."""
    whole, part = divmod(size_in.normalize(), 1)
    fraction = _FRACTIONS.get(part)
    if fraction is None and part:
        return f"{size_in.normalize():f}{NO_BREAK}in"
    figures = f"{whole:f}" if whole or not part else ""
    return f"{figures}{fraction or ''}{NO_BREAK}in"


def hazard_words(hazard: str, *, words: Words) -> str:
    """Return the hazard as found; one nobody assessed is never printed as high."""
    return words.gettext(_HAZARDS.get(hazard, _HAZARDS["not assessed"]))


def assembly_lines(item: Item, *, words: Words) -> tuple[str, ...]:
    """Return type and size, then the serial, or our own number where there is none."""
    label = words.gettext("our number") if item.serial_is_ours else words.gettext("serial")
    return (f"{item.type}, {size_words(item.size_in)}", f"{label} {clean(item.serial, cap=60)}")


def where_lines(item: Item, *, words: Words) -> tuple[str, ...]:
    """Return service and location, then the hazard it stands against."""
    service = words.gettext(item.service) if item.service else ""
    place = one_line((service, clean(item.location, cap=120)))
    first = capital(place) if place else words.gettext("Place not recorded")
    return (first, hazard_words(item.hazard, words=words))


def serials(items: Sequence[Item], *, most: int = 6) -> str:
    """Name the assemblies of a caution; many are not listed one by one."""
    names = [clean(item.serial, cap=40) for item in items]
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} +{len(names) - most}"


def sentence_list(parts: Sequence[str]) -> str:
    """Join sentences with blanks, leaving out the empty ones."""
    return " ".join(part for part in parts if part)


def cited(text: str, *citations: str) -> str:
    """Put the citations, each once, in brackets before the last full stop."""
    named = list(dict.fromkeys(short_citation(citation) for citation in citations if citation))
    return f"{text.removesuffix('.')} ({'; '.join(named)})." if named else text


def short_citation(citation: str) -> str:
    """Return the source without its paraphrase: what stands before the first colon."""
    return clean(citation.partition(": ")[0])
