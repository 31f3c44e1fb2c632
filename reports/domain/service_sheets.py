"""A service sheet: all a person takes along to one assembly, and lines to write on.

It names no order of work, torque or lubricant: those are the maker's. It says what to heed, what
is asked of the readings, what they were, and what they point to.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from registry.domain.kinds import AssemblyType
from reports.domain.bringing import Bring
from reports.domain.causes import Cause
from reports.domain.limits import BODIES, Body, Family, Limits, Rule
from reports.domain.readings import Unit
from reports.domain.wording import label

DEFERS = (
    "The maker’s manual for this model decides the order of work, the torque, the lubricant and the"
    " parts; local code and licensed practice decide who may do it. None of these is printed here,"
    " and nothing here replaces them."
)

# Published: Harrison ID 7-6-11 (as found first). The rest is common practice, but for what is said
# to be from memory.
AS_FOUND_FIRST = (
    "Test as found first, before any repair or flushing, so that the record shows how it stood"
    " (Harrison ID 7-6-11)."
)
DEBRIS = (
    "Debris on a seat is the commonest cause of a low check and of relief discharge; where it comes"
    " back a strainer upstream may help. Check local code first."
)
FLUSH = "Flush the line before an assembly goes in."
ISOLATED = "Open only what is isolated and has no pressure left; open and close valves slowly."
SPRINGS = "The two checks of an RP differ in their springs: they are not interchangeable."
AFTER_REPAIR = (
    "After any repair test again by the method the program accepts: every reading of the body that"
    " was opened (from memory)."
)

BEFORE_WATER_IS_SHUT = (
    "Before: that the water is shut, when and for how long (a test usually needs it off 5 to 20"
    " minutes, Caswell Beach NC; a repair longer), and that nothing is shut without their word."
)
RELIEF_WATER = (
    "The relief valve may discharge much water while air is bled, until the pressure settles: see"
    " where it drains."
)
BONDING = (
    "A metal assembly may be part of the building’s electrical bonding: a jumper goes across the"
    " gap before it comes out (from memory)."
)
EXPANSION = "A new check closes the system: heated water needs somewhere to expand (from memory)."
FREEZE = "Drained parts freeze: leave them as the season asks."
MAIN_DRAIN = "Fire line: after the valves are open again, a main drain test (secondary sources)."

_WITH_RELIEF = frozenset({AssemblyType.RP, AssemblyType.RPDA, AssemblyType.RPDA_II})


@dataclass(frozen=True, kw_only=True)
class Earlier:
    """An earlier reading."""

    on: date
    text: str


@dataclass(frozen=True, kw_only=True)
class Visit:
    """What is known of one assembly before the visit."""

    type: AssemblyType
    size_in: Decimal
    maker: str
    model: str
    serial: str
    location: str
    premises: str
    address: str
    phone: str
    access_notes: str
    notice_days: int
    is_on_fire_line: bool
    has_tenants: bool
    has_medical_supply: bool
    due_on: date | None
    failed_on: date | None
    before: Mapping[str, Sequence[Earlier]]
    cautions: tuple[str, ...]
    causes: tuple[Cause, ...]
    symptoms: tuple[Cause, ...]
    bring: tuple[Bring, ...]


@dataclass(frozen=True, kw_only=True)
class ReadingLine:
    """A reading to take: what is asked of it, and what it was."""

    name: str
    limit: str
    before: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ServiceSheet:
    """The whole sheet."""

    visit: Visit
    tell: tuple[str, ...]
    cautions: tuple[str, ...]
    method: str
    readings: tuple[ReadingLine, ...]
    practice: tuple[str, ...]
    defers: str


def service_sheet(visit: Visit, *, limits: Limits) -> ServiceSheet:
    """The sheet for a visit, under the limits in force on its day."""
    return ServiceSheet(
        visit=visit,
        tell=tuple(_tell(visit)),
        cautions=(*visit.cautions[:-1], *_when_opened(visit), *visit.cautions[-1:]),
        method=f"{limits.title}; figures in {_gauged(limits.unit)}, judged before any rounding",
        readings=tuple(_readings(visit, limits=limits)),
        practice=tuple(_practice(visit)),
        defers=DEFERS,
    )


def _tell(visit: Visit) -> list[str]:
    told = [BEFORE_WATER_IS_SHUT]
    if visit.is_on_fire_line:
        told.append(
            "That the fire department, the alarm company and the insurer are told before and"
            " after, and that alarms and elevators may trip."
        )
    if visit.has_medical_supply:
        told.append("That water for treatment is arranged ahead; ask again at the door.")
    if visit.has_tenants:
        told.append("That those who live or work there must hear of it first.")
    told.append(
        "After: how it turned out. Failed means below the minimum, not that water flowed back. The"
        " report goes to the program, which writes to them if anything is owed."
    )
    return told


def _when_opened(visit: Visit) -> list[str]:
    told = [RELIEF_WATER] if visit.type in _WITH_RELIEF else []
    told += [BONDING, EXPANSION, FREEZE]
    return [*told, MAIN_DRAIN] if visit.is_on_fire_line else told


def _practice(visit: Visit) -> list[str]:
    told = [AS_FOUND_FIRST, DEBRIS, FLUSH, ISOLATED]
    if visit.type in _WITH_RELIEF:
        told.append(SPRINGS)
    return [*told, AFTER_REPAIR]


def _readings(visit: Visit, *, limits: Limits) -> list[ReadingLine]:
    return [
        line
        for body, family in BODIES.get(visit.type, ())
        for line in _of_family(
            family, prefix="bypass_" if body is Body.BYPASS else "", visit=visit, limits=limits
        )
    ]


def _of_family(family: Family, *, prefix: str, visit: Visit, limits: Limits) -> list[ReadingLine]:
    lines = []
    for criterion in limits.of(family):
        called = label(prefix + criterion.name)
        # A difference is worked out, never read: it has no history of its own.
        is_read = criterion.rule not in {Rule.DIFFERENCE_AT_LEAST, Rule.ABOVE_OTHER}
        earlier = visit.before.get(prefix + criterion.reading.value, ()) if is_read else ()
        lines.append(
            ReadingLine(
                name=called[:1].upper() + called[1:],
                limit=_limit(criterion.rule, criterion.limit, unit=limits.unit),
                before=tuple(f"{one.text} ({one.on:%Y})" for one in earlier),
            )
        )
    return lines


def _limit(rule: Rule, limit: Decimal | None, *, unit: Unit) -> str:
    if rule is Rule.ABOVE_OTHER:
        return "above the relief valve’s opening"
    return f"at least {limit:f} {_gauged(unit)}" if limit is not None else "yes, or tight"


def _gauged(unit: Unit) -> str:
    """The unit as a gauge shows it: a difference of pressures."""
    return Unit.KPA.value if unit is Unit.KPA else Unit.PSID.value
