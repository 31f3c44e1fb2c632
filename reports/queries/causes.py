"""The lines on likely causes that ship with the program, and those a stored test calls for."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache
from pathlib import Path

from django.conf import settings

from registry.domain.kinds import AssemblyType
from reports.domain.causes import Cause, Causes, Shown, likely_causes, read_causes
from reports.models import FieldTest


@cache
def shipped_causes() -> Causes:
    """The shipped lines."""
    path = Path(settings.BASE_DIR) / "fixtures" / "causes.toml"
    return read_causes(path.read_text(encoding="utf-8"))


def causes_of_part(
    test: FieldTest, *, part: str, type_: str, falling: Collection[str] = ()
) -> tuple[Cause, ...]:
    """What the readings of one part ("initial" or "final") of a stored test point to."""
    verdict = (test.verdict or {}).get(part) or {}
    shown = [
        Shown(
            name=str(one.get("name", "")),
            reading=str(one.get("reading") or ""),
            met=one.get("met"),
        )
        for one in verdict.get("criteria", [])
    ]
    return likely_causes(
        shipped_causes(),
        type_=AssemblyType(type_),
        unit=test.unit,
        criteria=shown,
        falling=falling,
    )
