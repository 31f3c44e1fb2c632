"""Whether anything was measured on a visit."""

from __future__ import annotations

from collections.abc import Mapping

from reports.domain.readings import Reading, ReadingName
from reports.domain.report_rows import FieldReport

_OF_THE_SITE = frozenset(
    {ReadingName.SHUTOFF1_TIGHT, ReadingName.SHUTOFF2_TIGHT, ReadingName.METER_MOVED}
)


def was_measured(report: FieldReport) -> bool:
    """Whether a gauge was used at all: a visit without any reading needs none."""
    return _any(report.initial) or _any(report.final)


def _any(readings: Mapping[ReadingName, Reading]) -> bool:
    return any(
        name not in _OF_THE_SITE for name, reading in readings.items() if reading is not None
    )
