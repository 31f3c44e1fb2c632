"""What to bring for a round: how many kits are enough, at a chosen confidence.

Each assembly needs its parts with the chance that its readings fall below their limits, and surely
where it stands failed. The number needed of one kind is then a sum of independent yes-or-no's: a
Poisson-binomial count, whose quantile is the answer. A kit fits one model only, so the kinds are
by maker and model besides type and size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from registry.domain.sizes import size_text

CONFIDENCES = (80, 90, 95, 99)
USUAL_CONFIDENCE = 90


class Part(StrEnum):
    """What is brought."""

    KIT = "rubber kit"
    SEAT = "seat"
    FITTINGS = "test-cock fittings"


@dataclass(frozen=True, kw_only=True)
class Need:
    """One assembly of a round with its chances; None where nothing is known."""

    type: str
    size_in: Decimal
    maker: str
    model: str
    kit: float | None
    seat: float | None


@dataclass(frozen=True, kw_only=True)
class Bring:
    """One line: how many of a part are enough for `assemblies` of one kind.

    `expected` is the mean number needed; `unknown` counts assemblies without a chance, for which
    nothing is added: a person decides.
    """

    part: Part
    type: str
    size_in: Decimal
    maker: str
    model: str
    count: int
    assemblies: int
    expected: float
    unknown: int


def enough(chances: Sequence[float], *, confidence: float) -> int:
    """The least number that covers the need with at least this probability.

    Three assemblies at one half each need at most 2 in 7 cases of 8: at 90 % three are brought.
    Raises ValueError for a confidence that is no probability.
    """
    if not 0 < confidence < 1:
        raise ValueError("a confidence lies between 0 and 1")
    total = 0.0
    for count, chance in enumerate(need_distribution(chances)):
        total += chance
        if total >= confidence - 1e-12:
            return count
    return len(chances)


def need_distribution(chances: Sequence[float]) -> list[float]:
    """The probability of needing 0, 1, … of them all: the Poisson-binomial distribution."""
    distribution = [1.0]
    for chance in chances:
        longer = [0.0] * (len(distribution) + 1)
        for count, share in enumerate(distribution):
            longer[count] += share * (1 - chance)
            longer[count + 1] += share * chance
        distribution = longer
    return distribution


def bring_list(needs: Sequence[Need], *, confidence: float) -> tuple[Bring, ...]:
    """What to bring for all of them: kits and seats that may be needed, then a set of fittings.

    Fittings are needed at every assembly and used again: one set of each kind is enough.
    """
    lines = [
        line
        for part in (Part.KIT, Part.SEAT)
        for key, some in _kinds(needs).items()
        if (line := _line(part, key, some, confidence=confidence)) is not None
    ]
    sets = [
        Bring(
            part=Part.FITTINGS,
            type=key[0],
            size_in=key[1],
            maker=key[2],
            model=key[3],
            count=1,
            assemblies=len(some),
            expected=1.0,
            unknown=0,
        )
        for key, some in _kinds(needs).items()
    ]
    return (*lines, *sets)


def spoken_list(lines: Sequence[Bring]) -> tuple[str, ...]:
    """The list in few words: the gauge, each kit and seat that is enough, fittings by size.

    Two kits for a 1-inch RP and fittings read `2 × rubber kit for RP 1 in, Northfork N1` and
    `test-cock fittings for 1 in`.
    """
    parts = [_spoken(one) for one in lines if one.count and one.part is not Part.FITTINGS]
    sizes = sorted({one.size_in for one in lines if one.part is Part.FITTINGS})
    fittings = [f"test-cock fittings for {', '.join(map(size_text, sizes))} in"] if sizes else []
    return ("the gauge", *parts, *fittings)


def _spoken(one: Bring) -> str:
    what = " ".join(part for part in (one.maker, one.model) if part)
    fits = f"{one.type} {size_text(one.size_in)} in{f', {what}' if what else ''}"
    return f"{one.count} × {one.part} for {fits}"


_Key = tuple[str, Decimal, str, str]


def _kinds(needs: Sequence[Need]) -> dict[_Key, list[Need]]:
    found: dict[_Key, list[Need]] = {}
    for one in sorted(needs, key=lambda need: (need.type, need.size_in, need.maker, need.model)):
        found.setdefault((one.type, one.size_in, one.maker, one.model), []).append(one)
    return found


def _line(part: Part, key: _Key, needs: Sequence[Need], *, confidence: float) -> Bring | None:
    told = [one.kit if part is Part.KIT else one.seat for one in needs]
    known = [chance for chance in told if chance is not None]
    count, unknown = enough(known, confidence=confidence), len(told) - len(known)
    if count == 0 and unknown == 0:
        return None
    return Bring(
        part=part,
        type=key[0],
        size_in=key[1],
        maker=key[2],
        model=key[3],
        count=count,
        assemblies=len(needs),
        expected=sum(known),
        unknown=unknown,
    )
