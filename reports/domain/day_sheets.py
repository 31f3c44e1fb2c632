"""A tester's day on paper: decided in full before anything is drawn."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStop:
    """One stop: its number and times, where, whom to ask for, what is tested, what to heed."""

    number: int
    times: str
    is_fixed: bool
    place: tuple[str, ...]
    people: tuple[str, ...]
    work: tuple[str, ...]
    cautions: tuple[str, ...]
    lat: float | None = None
    lon: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySheet:
    """One tester's day. ``depot`` is where it starts and ends, in degrees."""

    firm: str
    phone: str
    program: str
    tester: str
    day: str
    under: str
    depot: tuple[float, float]
    stops: tuple[SheetStop, ...]
    cautions: tuple[str, ...]
    bring: tuple[str, ...]
    travel: str
    entry_link: str

    @property
    def placed(self) -> tuple[SheetStop, ...]:
        """The stops that can be drawn on the map."""
        return tuple(stop for stop in self.stops if stop.lat is not None and stop.lon is not None)
