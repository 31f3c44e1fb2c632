"""Doubts about a record: what changes no outcome but wants a second look."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from typing import Protocol

from registry.domain.kinds import AssemblyType
from reports.domain.limits import BODIES, DETECTORS, KPA_PER_PSI, Body, Family
from reports.domain.readings import Reading, ReadingName, Unit, Word
from reports.domain.verdicts import plain_reading
from reports.domain.wording import label


class Recorded(Protocol):
    """The readings of one part, as judging holds them."""

    @property
    def assembly_type(self) -> AssemblyType:
        """The type tested."""
        ...

    @property
    def unit(self) -> Unit:
        """The gauge's unit."""
        ...

    @property
    def readings(self) -> Mapping[ReadingName, Reading]:
        """What was recorded, by name."""
        ...


_BEHIND_SHUTOFF1 = (ReadingName.CHECK1, ReadingName.CHECK, ReadingName.BYPASS_CHECK1)

_OF_FAMILY: Mapping[Family, frozenset[ReadingName]] = {
    Family.RP: frozenset(
        {
            ReadingName.RELIEF,
            ReadingName.CHECK1,
            ReadingName.CHECK2,
            ReadingName.CHECK1_TIGHT,
            ReadingName.CHECK2_TIGHT,
        }
    ),
    Family.DC: frozenset(
        {
            ReadingName.CHECK1,
            ReadingName.CHECK2,
            ReadingName.CHECK1_TIGHT,
            ReadingName.CHECK2_TIGHT,
        }
    ),
    Family.PVB: frozenset({ReadingName.AIR_INLET, ReadingName.AIR_INLET_FULL, ReadingName.CHECK}),
    Family.SVB: frozenset({ReadingName.AIR_INLET, ReadingName.AIR_INLET_FULL, ReadingName.CHECK}),
    Family.SINGLE_CHECK: frozenset({ReadingName.CHECK1}),
}


@cache
def readings_of(assembly_type: AssemblyType, body: Body) -> frozenset[ReadingName]:
    """The readings that belong to one body of a type; empty where it has no such body."""
    prefix = "bypass_" if body is Body.BYPASS else ""
    known = {name.value for name in ReadingName}
    for part, family in BODIES.get(assembly_type, ()):
        if part is body:
            names = {prefix + name.value for name in _OF_FAMILY[family]} & known
            return frozenset(ReadingName(name) for name in names)
    return frozenset()


def contradictions(test: Recorded) -> Iterator[str]:
    """Cells of one record that say opposite things; the worse one was judged."""
    readings = test.readings
    for figure, tight in (
        (ReadingName.CHECK1, ReadingName.CHECK1_TIGHT),
        (ReadingName.CHECK2, ReadingName.CHECK2_TIGHT),
        (ReadingName.BYPASS_CHECK2, ReadingName.BYPASS_CHECK2_TIGHT),
    ):
        said, held = readings.get(figure), readings.get(tight)
        if said is Word.LEAKED and held is Word.YES:
            yield f"{figure} says leaked and {tight} says yes: judged as leaked"
        elif said is Word.CLOSED_TIGHT and held is Word.NO:
            yield f"{figure} says closed tight and {tight} says no: judged as not tight"
        elif isinstance(said, Decimal) and held is Word.NO:
            yield f"{figure} says {plain_reading(said)} and {tight} says no: judged as not tight"
    inlet = readings.get(ReadingName.AIR_INLET)
    if inlet is Word.DID_NOT_OPEN and readings.get(ReadingName.AIR_INLET_FULL) is Word.YES:
        yield "air_inlet says did not open and air_inlet_full says yes: judged as not open"


def doubts(test: Recorded, *, meter_is_judged: bool = False) -> Iterator[str]:
    """What the method leaves open and a careful reader asks about.

    A meter that the method judges leaves nothing open.
    """
    yield from _shutoff_doubts(test.readings.get(ReadingName.SHUTOFF2_TIGHT))
    yield from _leaking_shutoff1(test)
    yield from _leaking_check2(test)
    if test.assembly_type in DETECTORS and not meter_is_judged:
        yield from _meter_doubts(test.readings.get(ReadingName.METER_MOVED))
    yield from _strangers(test)


def _shutoff_doubts(said: Reading) -> Iterator[str]:
    if said is None:
        yield "shutoff2_tight is not recorded: if shutoff valve 2 leaked, the readings are doubtful"
    elif said is Word.NO_FLOW:
        yield "shutoff valve 2 leaks; the readings count because no flow was shown"


def _leaking_shutoff1(test: Recorded) -> Iterator[str]:
    """A leaking shutoff valve 1 spoils a low reading of the check behind it.

    USC Foundation "Cross Talk", 2001, for check 1 of a DC; a PVB likewise (from memory).
    """
    if test.readings.get(ReadingName.SHUTOFF1_TIGHT) is not Word.NO:
        return
    low = [
        name
        for name in _BEHIND_SHUTOFF1
        if _is_low(test.readings.get(name), is_kpa=test.unit is Unit.KPA)
    ]
    if low:
        yield (
            f"shutoff valve 1 leaks beside a low reading of {label(low[0])}: repair the valve"
            ' first, then test again (USC Foundation "Cross Talk", 2001)'
        )
    else:
        yield "shutoff valve 1 leaks: it is to be repaired"


def _is_low(reading: Reading, *, is_kpa: bool) -> bool:
    least = KPA_PER_PSI if is_kpa else Decimal(1)
    return reading is Word.LEAKED or (isinstance(reading, Decimal) and reading < least)


def _leaking_check2(test: Recorded) -> Iterator[str]:
    for body, prefix in ((Body.MAIN, ""), (Body.BYPASS, "bypass_")):
        if ReadingName(f"{prefix}relief") not in readings_of(test.assembly_type, body):
            continue
        tight = test.readings.get(ReadingName(f"{prefix}check2_tight"))
        figure = test.readings.get(ReadingName(f"{prefix}check1"))
        if tight in {Word.NO, Word.LEAKED} and isinstance(figure, Decimal):
            yield (
                f"{prefix}check1 is {figure:f} although check valve 2 leaked: with a leaking"
                " check 2 the figure of check 1 cannot be read (USC steps)"
            )


def _meter_doubts(said: Reading) -> Iterator[str]:
    if said is None:
        yield "meter_moved is not recorded: see that the bypass meter registers"
    elif said is Word.NO:
        yield (
            "the bypass meter did not move: it is to be repaired; under this method that is no"
            " criterion"
        )


def _strangers(test: Recorded) -> Iterator[str]:
    belong = readings_of(test.assembly_type, Body.MAIN) | readings_of(
        test.assembly_type, Body.BYPASS
    )
    belong |= {ReadingName.SHUTOFF1_TIGHT, ReadingName.SHUTOFF2_TIGHT}
    if test.assembly_type in DETECTORS:
        belong |= {ReadingName.METER_MOVED}
    for name in ReadingName:
        if name not in belong and test.readings.get(name) is not None:
            yield (
                f"{name} is recorded but not judged: {label(name)} is no reading of the type"
                f" {test.assembly_type}"
            )
