"""The readings a form asks for: each once, in the order of the method's steps, with its limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from registry.domain.kinds import AssemblyType
from reports.domain.limits import BODIES, Body, Criterion, Limits, Rule
from reports.domain.readings import ReadingName, Word

_LABELS = {
    "relief": "Relief valve opened at",
    "check1": "Check 1 held at",
    "check2": "Check 2 held at",
    "check2_tight": "Check 2 against back-pressure",
    "check1_tight": "Check 1, tight",
    "air_inlet": "Air inlet opened at",
    "air_inlet_full": "Did the air inlet open fully?",
    "check": "The check held at",
}
_SHORT = {
    "relief": "the relief valve",
    "check1": "check 1",
    "check2": "check 2",
    "check2_tight": "check 2",
    "check1_tight": "check 1",
    "air_inlet": "the air inlet",
    "air_inlet_full": "the air inlet",
    "check": "the check",
}
_OPENING = frozenset({ReadingName.RELIEF, ReadingName.AIR_INLET, ReadingName.BYPASS_RELIEF})
_HELD = (("yes", "Tight"), ("no", "Leaked"))
_FULL = (("yes", "Fully"), ("no", "Not fully"))


@dataclass(frozen=True, kw_only=True)
class AskedReading:
    """One reading of the form.

    A figure has `other`, the answer that is no figure; a reading in words has `choices`.
    `asks` says the limit in words, in the method's unit.
    """

    name: ReadingName
    label: str
    short: str
    asks: str
    other: str
    choices: tuple[tuple[str, str], ...]
    required: bool

    @property
    def is_figure(self) -> bool:
        """Whether the gauge shows a figure for it."""
        return not self.choices

    def header(self, part: str) -> str:
        """The column of the report: "Initial relief", "Final bypass check1"."""
        return f"{part} {self.name.value.replace('_', ' ')}".capitalize()


def readings_asked(limits: Limits, assembly_type: AssemblyType) -> tuple[AskedReading, ...]:
    """The readings of a type under a method, in the method's order; none for an untested type.

    An RP under the USC manual: relief valve, check 2, check 1; under Iowa City's record check 1
    comes first.
    """
    return tuple(_asked(limits, assembly_type))


def _asked(limits: Limits, assembly_type: AssemblyType) -> Iterator[AskedReading]:
    for body, family in BODIES.get(assembly_type, ()):
        prefix = "bypass_" if body is Body.BYPASS else ""
        seen: list[ReadingName] = []
        criteria = limits.of(family)
        for criterion in criteria:
            for name in (criterion.reading, criterion.other):
                if name is not None and name not in seen:
                    seen.append(name)
                    yield _one(name, prefix=prefix, criteria=criteria, unit=limits.unit.value)


def _one(
    name: ReadingName, *, prefix: str, criteria: tuple[Criterion, ...], unit: str
) -> AskedReading:
    about = [one for one in criteria if name in {one.reading, one.other}]
    full = ReadingName(prefix + name.value)
    is_words = any(one.rule is Rule.YES and one.reading is name for one in about)
    where = "Bypass: " if prefix else ""
    label = _LABELS[name.value]
    return AskedReading(
        name=full,
        label=f"{where}{label[0].lower()}{label[1:]}" if where else label,
        short=f"{_SHORT[name.value]} of the bypass" if prefix else _SHORT[name.value],
        asks=_asks([one for one in about if one.reading is name], unit=unit),
        other="" if is_words else _other(full),
        choices=_choices(name) if is_words else (),
        required=any(one.required for one in about),
    )


def _choices(name: ReadingName) -> tuple[tuple[str, str], ...]:
    return _FULL if name is ReadingName.AIR_INLET_FULL else _HELD


def _other(name: ReadingName) -> str:
    return (Word.DID_NOT_OPEN if name in _OPENING else Word.LEAKED).value


def _asks(about: list[Criterion], *, unit: str) -> str:
    said = []
    for one in about:
        other = _SHORT[one.other.value] if one.other else ""
        if one.rule is Rule.AT_LEAST:
            said.append(f"at least {one.limit:f} {unit}")
        elif one.rule is Rule.DIFFERENCE_AT_LEAST:
            said.append(f"at least {one.limit:f} {unit} above {other}")
        elif one.rule is Rule.ABOVE_OTHER:
            said.append(f"above {other}")
        elif one.rule is Rule.RECORDED:
            said.append("written down; no limit is given")
        else:
            said.append("must open fully" if "full" in one.reading.value else "must be tight")
    words = ", and ".join(said)
    if words and not any(one.required for one in about):
        words += " (where it was looked at)"
    return words[:1].upper() + words[1:]
