"""A visit beside its readings: why there was no test, what was seen, what the paper carries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from scheduling.domain.facts import Hindrance


class Cause(StrEnum):
    """Why an assembly could not be tested, as a report says it."""

    NO_ACCESS = "no access"
    SUBMERGED = "submerged"
    TEST_COCKS_MISSING = "test cocks missing"
    VALVE_SEIZED = "valve seized"
    RELIEF_RUNNING = "relief valve running"
    WRONGLY_INSTALLED = "wrongly installed"
    BYPASSED = "bypassed"
    NOT_THERE = "not there"
    REPLACED_BY_PIPE = "replaced by pipe"
    SHUTOFF2_LEAKS = "shutoff valve 2 leaks"
    OTHER = "another reason"


DANGEROUS = frozenset(
    {Cause.RELIEF_RUNNING, Cause.BYPASSED, Cause.REPLACED_BY_PIPE, Cause.NOT_THERE}
)
"""Causes that may leave the drinking water unprotected now: a person hears of them first."""

CAUSE_WORDS: Mapping[Cause, str] = MappingProxyType(
    {
        Cause.NO_ACCESS: "No access",
        Cause.SUBMERGED: "Submerged",
        Cause.TEST_COCKS_MISSING: "Test cocks missing or broken",
        Cause.VALVE_SEIZED: "A shutoff valve is seized",
        Cause.RELIEF_RUNNING: "The relief valve runs and does not stop",
        Cause.WRONGLY_INSTALLED: "Wrongly installed",
        Cause.BYPASSED: "There is an open way around it",
        Cause.NOT_THERE: "It is not there",
        Cause.REPLACED_BY_PIPE: "A plain pipe is in its place",
        Cause.SHUTOFF2_LEAKS: "Shutoff valve 2 leaks, and no-flow was not shown",
        Cause.OTHER: "Another reason",
    }
)
"""Each cause in the words of a page."""

_OTHER_WORDS: Mapping[str, Cause] = MappingProxyType(
    {
        "under water": Cause.SUBMERGED,
        "flooded": Cause.SUBMERGED,
        "could not get in": Cause.NO_ACCESS,
        "locked": Cause.NO_ACCESS,
        "no test cocks": Cause.TEST_COCKS_MISSING,
        "test cock missing": Cause.TEST_COCKS_MISSING,
        "test cocks broken": Cause.TEST_COCKS_MISSING,
        "valve frozen": Cause.VALVE_SEIZED,
        "shutoff valve seized": Cause.VALVE_SEIZED,
        "rv running": Cause.RELIEF_RUNNING,
        "relief running": Cause.RELIEF_RUNNING,
        "relief valve discharging": Cause.RELIEF_RUNNING,
        "improper installation": Cause.WRONGLY_INSTALLED,
        "unapproved installation": Cause.WRONGLY_INSTALLED,
        "missing": Cause.NOT_THERE,
        "removed": Cause.NOT_THERE,
        "pipe": Cause.REPLACED_BY_PIPE,
        "sov2 leaks": Cause.SHUTOFF2_LEAKS,
    }
)

_HINDRANCES: Mapping[Cause, str] = MappingProxyType(
    {
        Cause.WRONGLY_INSTALLED: "unapproved installation",
        Cause.VALVE_SEIZED: "shutoff valve seized",
    }
)


def hindrance_of(cause: Cause) -> Hindrance | None:
    """The rulebook's word for a cause; None where it has none, and a person is asked."""
    wanted = _HINDRANCES.get(cause, cause.value)
    return next((one for one in Hindrance if one.value == wanted), None)


def cause_named(text: str) -> Cause | None:
    """The cause a cell names; words of its own are *another reason*, a blank or "no" is none."""
    plain = " ".join(text.split()).casefold()
    if plain in {"", "no", "n", "none", "it was tested", "tested"}:
        return None
    known = {one.value: one for one in Cause} | dict(_OTHER_WORDS)
    return known.get(plain, Cause.OTHER)


@dataclass(frozen=True, kw_only=True)
class Visit:
    """What a report says besides tester, gauge and readings.

    `signed_by` and `attested` are None where the sheet has no column for them. `place` is what
    it says of an assembly nobody knows: address, premises, model, size, location.
    """

    cause: Cause | None = None
    cause_words: str = ""
    relief_running: bool = False
    way_around: bool = False
    installed: str = ""
    old_serial: str = ""
    is_proper: bool | None = None
    improper: str = ""
    signed_by: str | None = None
    attested: bool | None = None
    received_on: date | None = None
    place: Mapping[str, str] = field(default_factory=dict)

    @property
    def replaces(self) -> bool:
        """Whether it says that this assembly took another's place."""
        return self.installed == "replacement" or bool(self.old_serial)

    def told(self) -> dict[str, str]:
        """What makes two reports different, blanks left out."""
        said = {
            "cause": self.cause.value if self.cause else "",
            "cause words": self.cause_words if self.cause is Cause.OTHER else "",
            "relief running": "yes" if self.relief_running else "",
            "way around": "yes" if self.way_around else "",
            "old serial": self.old_serial.casefold(),
        }
        return {name: text for name, text in said.items() if text}
