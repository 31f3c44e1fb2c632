"""The sentences of a verdict: what a reading is called, and how a shortfall is said."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from reports.domain.readings import Unit
from reports.domain.verdicts import Judged, plain_reading

_LABELS: Mapping[str, str] = MappingProxyType(
    {
        "relief": "the relief valve's opening",
        "check1": "check valve 1",
        "check1_minus_relief": "check valve 1 less the relief valve's opening",
        "check1_above_relief": "check valve 1 against the relief valve's opening",
        "check2": "check valve 2",
        "check1_tight": "tightness of check valve 1",
        "check2_tight": "tightness of check valve 2 against back-pressure",
        "air_inlet": "the air inlet's opening",
        "air_inlet_full": "full opening of the air inlet",
        "check": "the check valve",
        "shutoff2_tight": "tightness of shutoff valve 2",
        "meter_moved": "the bypass meter",
        "shutoff1_tight": "tightness of shutoff valve 1",
    }
)

_BYPASS = "bypass_"
_DERIVED = frozenset({"check1_minus_relief", "check1_above_relief"})


_SHORT: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "relief": ("relief valve opened at", "", ""),
        "check1": ("check 1 held", "", ""),
        "check2": ("check 2 held", "", ""),
        "check": ("check held", "", ""),
        "air_inlet": ("air inlet opened at", "", ""),
        "check1_tight": ("check 1", "tight", "leaked"),
        "check2_tight": ("check 2", "tight", "leaked"),
        "shutoff1_tight": ("shutoff 1", "tight", "leaked"),
        "shutoff2_tight": ("shutoff 2", "tight", "leaked"),
        "air_inlet_full": ("air inlet", "opened fully", "did not open fully"),
        "meter_moved": ("meter", "moved", "did not move"),
    }
)
"""How one line says a reading: before a figure, and what yes and no mean."""


def in_one_line(readings: Mapping[str, object]) -> str:
    """Recorded readings as a tester says them: "relief valve opened at 2.4, check 2 tight"."""
    told = (_in_short(name, value) for name, value in readings.items())
    return ", ".join(words for words in told if words)


def _in_short(name: str, value: object) -> str:
    if value in ("", None):
        return ""
    is_bypass = name.startswith(_BYPASS)
    before, yes, no = _SHORT.get(name.removeprefix(_BYPASS), (name.replace("_", " "), "", ""))
    text = {"yes": yes, "no": no}.get(str(value), "") or str(value)
    is_figure = text[:1].isdigit() or text in {yes, no}
    noun = before.removesuffix(" opened at").removesuffix(" held")
    plain = f"{before if is_figure else noun} {text}"
    return f"bypass {plain}" if is_bypass and not plain.startswith("bypass") else plain


def label(name: str) -> str:
    """What a reading or criterion is called: ``bypass_check1`` is "bypass: check valve 1"."""
    if name.startswith(_BYPASS):
        return f"bypass: {_LABELS[name.removeprefix(_BYPASS)]}"
    return _LABELS[name]


def failing_reason(judged: Judged, *, unit: Unit) -> str:
    """Why a criterion is not met, with figures, unit and source."""
    named = _capital(label(judged.name))
    if not isinstance(judged.reading, Decimal):
        return f"{named}: recorded as {_said(judged)} ({judged.citation})."
    asked = "more than" if judged.name.endswith("check1_above_relief") else "at least"
    return (
        f"{named}: {judged.reading:f} {unit}, where {asked} {plain_reading(judged.limit)} {unit}"
        f" is asked for ({judged.citation})."
    )


def missing_reason(judged: Judged) -> str:
    """Why a criterion leaves the part incomplete."""
    named = _capital(label(judged.name))
    if judged.name.removeprefix(_BYPASS) in _DERIVED:
        return f"{named}: cannot be told without a figure for both ({judged.citation})."
    if judged.reading is not None:
        return (
            f"{named}: recorded as {_said(judged)}, and a figure is asked for ({judged.citation})."
        )
    return f"{named}: not recorded, and the method asks for it ({judged.citation})."


def _said(judged: Judged) -> str:
    return plain_reading(judged.reading) or "blank"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
