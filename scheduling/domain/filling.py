"""Closing the gaps of a rulebook: by a rule that a person wrote, or by a decision to do without."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from scheduling.domain.gaps import Gap, Part, Waiver
from scheduling.domain.matching import every_subject
from scheduling.domain.rulebook import CycleRule, Regime, Rulebook
from scheduling.domain.rulebook_table import RulebookError


def waive_gap(rulebook: Rulebook, *, name: str, by: str, on: date, reason: str) -> Rulebook:
    """Return the rulebook with a gap waived: nothing is asked where the rule would stand.

    Raises RulebookError for a gap it has not, a second waiver, or one without name or reason.
    """
    gap = _gap(rulebook, name)
    if not by.strip() or not reason.strip():
        raise RulebookError(f"Gap {name!r} is waived by a named person with a reason: give both.")
    if gap.name not in rulebook.gaps:
        raise RulebookError(f"Gap {name!r} is waived already: take that waiver out first.")
    waiver = Waiver(gap=gap.name, by=by.strip(), on=on, reason=reason.strip())
    return replace(rulebook, waivers=(*rulebook.waivers, waiver))


def fill_gap(rulebook: Rulebook, *, name: str) -> Rulebook:
    """Return the rulebook without a gap, once rules stand where it was.

    Raises RulebookError while they do not.
    """
    gap = _gap(rulebook, name)
    if not is_filled(rulebook, gap):
        raise RulebookError(
            f"Gap {name!r} is still open: add the rule ({gap.part.value}"
            f"{': ' + gap.what if gap.what else ''}), or waive it with a reason."
        )
    return replace(
        rulebook,
        gap_list=tuple(each for each in rulebook.gap_list if each is not gap),
        waivers=tuple(each for each in rulebook.waivers if each.gap != name),
    )


def is_filled(rulebook: Rulebook, gap: Gap) -> bool:
    """Return whether rules stand for every subject the gap is about."""
    return _FILLED[gap.part](rulebook, gap)


def _gap(rulebook: Rulebook, name: str) -> Gap:
    for gap in rulebook.gap_list:
        if gap.name == name:
            return gap
    known = ", ".join(repr(gap.name) for gap in rulebook.gap_list) or "none"
    raise RulebookError(f"{rulebook.name} has no gap {name!r}; there is {known}.")


def _cycles_stand(rulebook: Rulebook, gap: Gap) -> bool:
    caught = (a for a in every_subject(rulebook.matches()) if gap.match.catches(a))
    return all(
        rulebook.cycle_rule(kind=gap.kind, attributes=attributes) is not None
        or rulebook.exempt_rule(kind=gap.kind, attributes=attributes) is not None
        for attributes in caught
    )


def _cures_stand(rulebook: Rulebook, gap: Gap) -> bool:
    caught = (a for a in every_subject(rulebook.matches()) if gap.match.catches(a))
    return all(any(r.match.catches(attributes) for r in rulebook.cures) for attributes in caught)


def _every_cycle(rulebook: Rulebook, holds: Callable[[CycleRule], bool]) -> bool:
    return bool(rulebook.cycles) and all(map(holds, rulebook.cycles))


_FILLED: dict[Part, Callable[[Rulebook, Gap], bool]] = {
    Part.CYCLE: _cycles_stand,
    Part.CURE: _cures_stand,
    Part.EVENT: lambda book, gap: (
        gap.events <= {rule.event for rule in book.events if rule.kind == gap.kind}
    ),
    Part.OPENING: lambda book, _: _every_cycle(
        book, lambda rule: rule.regime is Regime.SEASON or rule.opens_days > 0
    ),
    Part.WINDOW: lambda book, _: _every_cycle(
        book, lambda rule: rule.regime is not Regime.ANNIVERSARY or rule.early_days > 0
    ),
    Part.CREDIT: lambda book, _: _every_cycle(
        book, lambda rule: rule.regime is not Regime.SEASON or rule.credit_from is not None
    ),
    Part.REPEAT: lambda book, gap: any(rule.kind == gap.kind for rule in book.repeats),
    Part.GRACE: lambda book, _: book.grace.is_given,
    Part.NO_DATE: lambda book, _: book.no_date.is_given,
    Part.TRANSITION: lambda book, _: book.transition.is_given,
    Part.METHOD: lambda book, _: bool(book.method),
    Part.GAUGE: lambda book, _: book.credentials.is_given,
    Part.TESTER: lambda book, _: book.credentials.tester is not None,
    Part.LADDER: lambda book, _: (
        bool(book.ladder.rungs) and not any(rung.without_day for rung in book.ladder.rungs)
    ),
    Part.REPORT: lambda book, gap: (
        bool(book.reports)
        and all(any(not r.about or fact in r.about for r in book.reports) for fact in gap.events)
    ),
    Part.HINDRANCE: lambda book, _: bool(book.hindrances),
    Part.PROTECTION: lambda book, _: bool(book.protections),
    Part.PROVISION: lambda book, _: bool(book.provisions),
}
