"""An office's own sentences in a letter: where they may stand, and the fields they may name.

They stand beside what the law needs and never in its place: headline and dates, the rule and its
source, the table, what happens next, how to object or be heard, cautions and contacts stay ours.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum

from notices.domain.cleaning import clean
from notices.domain.long_dates import NO_BREAK

LONGEST = 700
"""Letters in one part."""

FILLED_CAP = 4000


class Part(StrEnum):
    """Where an office's own words may stand."""

    OPENING = "opening"
    EXPLANATION = "explanation"
    CLOSING = "closing"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnWords:
    """One version of an office's words, its fields not yet filled; number 0 is the built-in one.

    An empty opening is our own sentence; an empty explanation or closing is none.
    """

    number: int = 0
    opening: str = ""
    explanation: str = ""
    closing: str = ""

    def text_of(self, part: Part) -> str:
        """Return the text of a part."""
        return str(getattr(self, part.value))


BUILT_IN = OwnWords()


@dataclass(frozen=True, slots=True)
class Field:
    """What a field stands for, and an example."""

    name: str
    means: str
    example: str


FIELDS = (
    Field("place", "the premises, or how many there are", "230 Larch Court"),
    Field("count", "how many assemblies, services or premises the letter is about", "2"),
    Field("due", "the day it is or was due; of several the first", "November 1, 2025"),
    Field("day", "the day of the letter", "November 3, 2025"),
    Field("number", "the letter\u2019s number", "25-1103-0417"),
    Field("recipient", "the first line of the address", "Larch Court Apartments"),
    Field("office", "the name on the letterhead", "Tamarack Flats Water District"),
    Field("phone", "the telephone on the letterhead", "(555) 010-0142"),
    Field("email", "the e-mail address on the letterhead", "backflow@tamarackflats.example"),
    Field("hours", "the hours on the letterhead", "weekdays 8 to 4:30"),
)
"""The closed list of what an office's words may name."""

FIELD_NAMES = tuple(field.name for field in FIELDS)

_FIELD = re.compile(r"\{([^{}]*)\}")

_THREATS = {
    "en": re.compile(
        r"\b(shut[- ]?offs?(?! valve)|shut(?:ting)? (?:your |the )?(?:water|service) off|"
        r"shut(?:ting)? off|turn(?:ed|ing)?[- ]off(?: (?:your|the) (?:water )?service| notice)?|"
        r"disconnect\w*|discontinu\w*|"
        r"terminat\w*|penalt\w+|fined|(?:a|the) fines?|fines? of|fees?|liens?|surcharges?|"
        r"prosecut\w*|misdemeanors?|in court|court (?:order|action))\b",
        re.IGNORECASE,
    ),
    "es": re.compile(
        r"\b(cort(?:e|es|ar|ará|arán|amos|aremos|aron|ado|ada)|desconect\w*|suspen(?:der|sión)\w*|"
        r"suspenderá\w*|multas?|sanci(?:ón|ones)|sancionad\w*|penaliza\w*|recargos?|"
        r"cargos?|gravam\w+|embarg\w+|tribunal\w*|delito\w*)\b",
        re.IGNORECASE,
    ),
}
"""Words of a consequence. What may follow stands in "What happens next", from the rulebook."""

_DUTY = re.compile(r"\b(shall)\b", re.IGNORECASE)


def faults(text: str, *, language: str, empty: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Return why a text cannot be kept, each with what to do; `empty` names fields without value.

    `empty` maps a field that the office has not filled to where it is filled.
    """
    return tuple(_faults(text, language=language, empty=empty or {}))


def _faults(text: str, *, language: str, empty: Mapping[str, str]) -> Iterator[str]:
    if len(text) > LONGEST:
        yield f"It has {len(text):,} letters; write at most {LONGEST}."
    known = ", ".join("{" + name + "}" for name in FIELD_NAMES)
    for name in dict.fromkeys(_FIELD.findall(text)):
        if name not in FIELD_NAMES:
            near = get_close_matches(name.strip().lower(), FIELD_NAMES, n=1, cutoff=0.7)
            meant = f" Did you mean {{{near[0]}}}?" if near else ""
            yield f"There is no field \u201c{{{name}}}\u201d.{meant} There are: {known}."
        elif name in empty:
            yield f"The field \u201c{{{name}}}\u201d has no value here: {empty[name]}."
    if re.search(r"[{}]", _FIELD.sub("", text)):
        yield "A brace stands alone. A field is written with one on each side, as {place}."
    if duty := _DUTY.search(text):
        yield f"\u201c{duty.group()}\u201d is not plain: write must, may or will."
    for found in threats_in(text, language=language):
        yield (
            f"\u201c{found}\u201d speaks of a consequence. The letter names those by itself, where "
            "the rulebook cites them; take it out here."
        )


def threats_in(text: str, *, language: str) -> tuple[str, ...]:
    """Return the words of a consequence that a text holds."""
    found = _THREATS.get(language, _THREATS["en"]).finditer(text)
    return tuple(dict.fromkeys(one.group().lower() for one in found))


def fill(text: str, *, values: Mapping[str, str]) -> str:
    """Return the text with its fields filled, on one line; what a value holds is never a field."""
    filled = _FIELD.sub(lambda found: values.get(found.group(1), found.group()), text)
    # Cleaned piece by piece: what a no-break space holds together stays together.
    return NO_BREAK.join(clean(piece, cap=FILLED_CAP) for piece in filled.split(NO_BREAK))
