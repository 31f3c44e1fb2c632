"""A field test report that came in and closed nothing, as the floor above tells of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class ReportLacks(StrEnum):
    """What keeps a report from counting, as far as a letter says it."""

    NUMBERS = "numbers"  # the certificate's or the gauge's is missing on it
    TESTER = "tester"  # not certified, or not accepted, on the day by our record
    CLASSES = "classes"  # certified, but not for this type
    GAUGE = "gauge"  # no calibration that holds on the day by our record
    READINGS = "readings"  # one is missing or cannot be judged
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportInHand:
    """A report of an assembly that brought nothing: it waits for the office, or does not count.

    `waits`: a person of the office still decides. `lacks`: why it does not count, each once.
    `ref` names it for good. `passed`: it says that the test passed.
    """

    ref: str
    assembly_id: int
    tested_on: date
    received_on: date
    waits: bool
    passed: bool
    lacks: tuple[ReportLacks, ...] = ()
    firm_id: int | None = None
