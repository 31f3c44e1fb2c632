"""The usual cautions beside planned work (trade.md's sources stand with each)."""

from __future__ import annotations

from collections.abc import Sequence

from notices.domain.briefs import Item, Words
from notices.domain.kinds import FireLine
from notices.domain.wording import serials


def cautions_for(items: Sequence[Item], *, words: Words) -> tuple[str, ...]:
    """Return the cautions that apply to these assemblies, the general one last."""
    found = [
        _fire(items, words=words),
        _vault(items, words=words),
        _medical(items, words=words),
        _tenants(items, words=words),
        words.gettext(
            "The maker\u2019s manual, local code and licensed practice decide how the work is done."
        ),
    ]
    return tuple(text for text in found if text)


def _fire(items: Sequence[Item], *, words: Words) -> str:
    """Who is told before and after; valves fully open (common practice, secondary sources)."""
    on_fire = [item for item in items if item.fire is not FireLine.NONE]
    if not on_fire:
        return ""
    return words.gettext(
        "Fire line (%(serials)s): tell the fire department, the alarm company and the insurer "
        "before the test and again after it. Leave all valves fully open."
    ) % {"serials": serials(on_fire)}


def _vault(items: Sequence[Item], *, words: Words) -> str:
    """Confined space: 29 CFR 1910.146."""
    inside = [item for item in items if item.in_vault]
    if not inside:
        return ""
    return words.gettext(
        "Vault or pit (%(serials)s): it can be a confined space. Only trained people enter, never "
        "alone, after the air is tested (29 CFR 1910.146)."
    ) % {"serials": serials(inside)}


def _medical(items: Sequence[Item], *, words: Words) -> str:
    """Continuous service is arranged ahead (ASSE 5000)."""
    if not any(item.has_medical_supply for item in items):
        return ""
    return words.gettext(
        "Our record says that water is needed here without a break for medical reasons. Arrange "
        "the supply before water is shut for the test, and tell us if the record is wrong."
    )


def _tenants(items: Sequence[Item], *, words: Words) -> str:
    """The owner's permission, and word to those who live there, before water is shut."""
    if not any(item.has_tenants for item in items):
        return ""
    return words.gettext("Tell the people who live or work there before water is shut.")
