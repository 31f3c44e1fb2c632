"""What a visit needs beyond minutes: two people in a permit space, skills, notice of a shutdown."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from decimal import Decimal
from typing import Final

from registry.domain.kinds import ServiceKind
from registry.models import Assembly, Premises

CONFINED_SPACE: Final = "confined space"
FIRE_LINES: Final = "fire lines"
SKILLS: Final = (CONFINED_SPACE, FIRE_LINES)
"""The skills that visits ask for, as they stand on a tester's record."""

_FIRE = frozenset({ServiceKind.FIRE.value, ServiceKind.COMBINED.value})


def people_needed(assemblies: Sequence[Assembly]) -> int:
    """Two where one stands in a permit space (29 CFR 1910.146), else one."""
    return 2 if any(one.permit_space for one in assemblies) else 1


def skills_needed(assemblies: Sequence[Assembly], *, recorded: Collection[str]) -> frozenset[str]:
    """What testers must bring.

    Work in a permit space always asks for it. Fire lines do where any tester's skill in them is
    on record: a program that records nobody's sends whoever is approved.
    """
    asks = {CONFINED_SPACE} if people_needed(assemblies) > 1 else set()
    if FIRE_LINES in recorded and any(one.connection.kind in _FIRE for one in assemblies):
        asks.add(FIRE_LINES)
    return frozenset(asks)


def space_needed(assemblies: Sequence[Assembly], *, parts_from_in: Decimal | None) -> int:
    """Places in the van: one for each assembly so large that parts for it are brought along."""
    if parts_from_in is None:
        return 0
    return sum(one.size_in >= parts_from_in for one in assemblies)


def water_goes_off(assemblies: Sequence[Assembly]) -> bool:
    """Whether a test shuts the water: not where each assembly has a twin in parallel."""
    return any(not one.has_twin for one in assemblies)


def notice_needed(premises: Premises, assemblies: Sequence[Assembly]) -> int:
    """Days: those before any visit, and those before the water goes off where it does."""
    shutdown = premises.shutdown_days if water_goes_off(assemblies) else 0
    return max(premises.notice_days, shutdown)


def shutdown_words(premises: Premises, assemblies: Sequence[Assembly]) -> tuple[str, ...]:
    """What to do before the water goes off, as a day sheet says it; empty where nothing is known.

    Where every assembly has a twin the water stays on; one alone feeds people through nothing else.
    """
    if not assemblies:
        return ()
    if not water_goes_off(assemblies):
        return ("Twins in parallel: test one at a time, the water need not go off.",)
    told = []
    if premises.shutdown_tell:
        ahead = premises.shutdown_days
        days = f"{ahead} {'day' if ahead == 1 else 'days'} before" if ahead else "before"
        told.append(f"Tell {days} the water goes off: {premises.shutdown_tell}")
    elif premises.shutdown_days:
        told.append(f"Give {premises.shutdown_days} days' notice before the water goes off")
    return tuple(told)
