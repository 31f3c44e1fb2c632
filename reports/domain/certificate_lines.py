"""The readings of a certificate, cell by cell, in words of the reader's language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from notices.domain.briefs import Words
from notices.domain.wording import N_
from reports.domain.wording import label

_LABELS = (
    N_("the relief valve's opening"),
    N_("check valve 1"),
    N_("check valve 1 less the relief valve's opening"),
    N_("check valve 1 against the relief valve's opening"),
    N_("check valve 2"),
    N_("tightness of check valve 1"),
    N_("tightness of check valve 2 against back-pressure"),
    N_("the air inlet's opening"),
    N_("full opening of the air inlet"),
    N_("the check valve"),
    N_("tightness of shutoff valve 2"),
    N_("the bypass meter"),
    N_("did not open"),
    N_("leaked"),
    N_("closed tight"),
    N_("yes"),
    N_("no"),
)
"""Marked for the catalogue: what the wording of verdicts calls readings and results."""


@dataclass(frozen=True, kw_only=True)
class PartTested:
    """One part of the report with its criteria as they were judged and kept."""

    is_final: bool
    criteria: tuple[Mapping[str, object], ...]


@dataclass(frozen=True, kw_only=True)
class Line:
    """A row of the readings: every cell as it is printed."""

    name: str
    reading: str
    limit: str
    margin: str
    verdict: str


@dataclass(frozen=True, kw_only=True)
class CertificatePart:
    """A table of readings under its title."""

    title: str
    lines: tuple[Line, ...]


def part_shown(part: PartTested, *, words: Words) -> CertificatePart:
    """A part as the table shows it."""
    title = words.gettext("Final test, after repair" if part.is_final else "As found")
    return CertificatePart(
        title=title, lines=tuple(_line(one, words=words) for one in part.criteria)
    )


_PARTS = (N_("Final test, after repair"), N_("As found"))


def _line(one: Mapping[str, object], *, words: Words) -> Line:
    name, met = str(one.get("name") or ""), one.get("met")
    verdict = words.gettext("not told")
    if isinstance(met, bool):
        verdict = words.gettext("met") if met else words.gettext("not met")
    reading = str(one.get("reading") or "")
    return Line(
        name=_named(name, words=words),
        reading=reading if _is_figure(reading) or not reading else words.gettext(reading),
        limit=_limit(one, words=words),
        margin=_margin(str(one.get("margin") or "")),
        verdict=verdict,
    )


def _named(name: str, *, words: Words) -> str:
    if name.startswith("bypass_"):
        told = words.gettext(label(name.removeprefix("bypass_")))
        return words.gettext("Bypass: %(reading)s") % {"reading": told}
    told = words.gettext(label(name))
    return told[:1].upper() + told[1:]


def _limit(one: Mapping[str, object], *, words: Words) -> str:
    limit = str(one.get("limit") or "")
    if not limit:
        return words.gettext("yes, or tight")
    if str(one.get("name")).endswith("above_relief"):
        return words.gettext("above %(limit)s") % {"limit": limit}
    return words.gettext("at least %(limit)s") % {"limit": limit}


def _margin(text: str) -> str:
    if not text:
        return ""
    return f"\N{MINUS SIGN}{text[1:]}" if text.startswith("-") else f"+{text}"


def _is_figure(text: str) -> bool:
    try:
        Decimal(text)
    except InvalidOperation:
        return False
    return True
