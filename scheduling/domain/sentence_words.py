"""The words sentences of rules are made of; a value stands apart, so a page can underline it."""

from __future__ import annotations

from collections.abc import Iterable

from registry.domain.kinds import ServiceKind
from scheduling.domain.cycles import Cycle
from scheduling.domain.matching import Match
from scheduling.domain.rules import MonthDay

Piece = tuple[str, bool]
"""Words, and whether they are a value that a draft may change."""

Words = list[str | Piece]

MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August"),
    *("September", "October", "November", "December"),
)


def value(words: object) -> Piece:
    """Set words apart as a value."""
    return str(words), True


def plain(words: Words) -> tuple[Piece, ...]:
    """Return the words as pieces, each marked as a value or not."""
    return tuple((word, False) if isinstance(word, str) else word for word in words if word)


def days(number: int, *, is_working: bool = False) -> Piece:
    """`1 day`, `10 working days`."""
    unit = "working day" if is_working else "day"
    return value(f"{number} {unit}{'' if number == 1 else 's'}")


def months(number: int) -> Piece:
    """`12 months`."""
    return value(f"{number} month{'' if number == 1 else 's'}")


def listed(names: Iterable[str], *, last: str = "or") -> Words:
    """`RP, RPDA or RPDA-II`, each name a value."""
    found = list(names)
    parts: Words = []
    for place, name in enumerate(found):
        if place:
            parts.append(f" {last} " if place == len(found) - 1 else ", ")
        parts.append(value(name))
    return parts


def month_day(day: MonthDay) -> str:
    """`May 31` from 05-31."""
    return f"{MONTHS[day.month - 1]} {day.day}"


def step(cycle: Cycle) -> str:
    """`6 months`, `May 31`, or the rule itself where it is neither."""
    if len(cycle.bymonth) == 1 and len(cycle.bymonthday) == 1 and cycle.bymonthday[0] > 0:
        day = f"{MONTHS[cycle.bymonth[0] - 1]} {cycle.bymonthday[0]}"
        return day if cycle.interval == 1 else f"{day} of every {cycle.interval} years"
    return cycle.words


def every(cycle: Cycle) -> str:
    """`year` from 1 year, `3 years` from 3: what stands after the word every."""
    return step(cycle).removeprefix("1 ")


def article(word: str) -> str:
    """`an RP`, `a DC`: by how the word is said."""
    is_spelled = word[:2].isupper()
    vowels = "AEFHILMNORSX" if is_spelled else "AEIOUaeiou"
    return "an" if word[:1] in vowels else "a"


def subject(match: Match, *, rest: str, noun: str = "assembly") -> Words:
    """`An RP or RPDA that protects against a high hazard`; `rest` where everything is caught."""
    if match == Match():
        return [rest]
    types = sorted(one.value for one in match.types)
    first = article(types[0] if types else noun).capitalize()
    parts: Words = [f"{first} ", *listed(types)] if types else [f"{first} {noun}"]
    parts += _where_it_stands(match, noun=noun)
    return parts + _how_it_is_used(match)


def _where_it_stands(match: Match, *, noun: str) -> Words:
    parts: Words = []
    if match.detector is not None:
        parts.append(" with a detector" if match.detector else " without a detector")
    if match.hazards:
        verb = " that protects against " if noun == "assembly" else " with "
        names = sorted(one.value for one in match.hazards)
        parts += [f"{verb}{article(names[0])} ", *listed(names), " hazard"]
    if match.services:
        names = sorted(_service(one) for one in match.services)
        parts += [" on ", *listed(names), " service"]
    if match.protects:
        parts += [" for ", *listed(sorted(one.value for one in match.protects))]
    return parts


def _service(service: ServiceKind) -> str:
    return service.value or "an unknown"


def _how_it_is_used(match: Match) -> Words:
    parts: Words = []
    if match.uses:
        parts += [" at premises used as ", *listed(sorted(match.uses))]
    if match.residential is not None:
        parts += [" at ", value("residential" if match.residential else "non-residential")]
        parts.append(" premises")
    if match.chemicals is not None:
        parts += [", ", value("with" if match.chemicals else "without"), " chemicals in the line"]
    if match.part_year is not None:
        parts += [", in use for ", value("part of the year" if match.part_year else "all year")]
    return parts
