"""Reports in hand, read from the floor above through the readers it has handed down."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from notices.domain.in_hand import ReportInHand
from registry.models import Program

Reader = Callable[[Collection[int]], Mapping[int, ReportInHand]]
"""From ids of assemblies to the newest report of each that brought nothing, if it has one."""

Waiting = Callable[[Program], Collection[int]]
"""From a program to the assemblies of which a report waits for the office."""


NotCounted = Callable[[Program, date], Sequence[ReportInHand]]
"""From a program and a day to the reports tested since that do not count and wait for nobody."""


@dataclass(frozen=True, slots=True)
class Readers:
    """How the floor above is asked."""

    newest: Reader
    waiting: Waiting
    not_counted: NotCounted


_handed_down: list[Readers] = []


def hand_down(readers: Readers) -> None:
    """Take the readers; the last ones handed down are asked. Done once, when apps are ready."""
    _handed_down[:] = [readers]


def reports_in_hand(assembly_ids: Collection[int]) -> Mapping[int, ReportInHand]:
    """Return the newest report in hand of each of these assemblies that has one."""
    if not _handed_down or not assembly_ids:
        return {}
    return _handed_down[0].newest(assembly_ids)


def assemblies_waiting(program: Program) -> Sequence[int]:
    """Return the assemblies of a program of which a report waits for the office."""
    return sorted(_handed_down[0].waiting(program)) if _handed_down else []


def not_counted_since(program: Program, *, day: date) -> Sequence[ReportInHand]:
    """Return the reports of a program tested since a day that do not count and wait no more."""
    return _handed_down[0].not_counted(program, day) if _handed_down else []
